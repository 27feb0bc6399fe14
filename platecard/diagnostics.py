"""Problems: what is wrong, where it is, and how it is shown to a person.

Every stage returns its problems as values; none is raised and none is printed on
the way.  They are sorted and rendered here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from platecard.whereabouts import whereabouts


class Severity(StrEnum):
    """How bad a problem is, worst first; each member is its own word, in JSON too."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"


ERROR, WARNING, ADVICE = Severity.ERROR, Severity.WARNING, Severity.ADVICE
_RANK = {severity: rank for rank, severity in enumerate(Severity)}


class Span(NamedTuple):
    """A place in a text: file, line and column (both counted from 1), and length in characters.

    A tuple, because each dish has hundreds of them, and every chain of reasons compares and hashes them.
    """

    file: str
    line: int = 1
    column: int = 1
    length: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Stage(StrEnum):
    """Where on the road a problem arose, and so what it can hide."""

    MEANING = "meaning"  # reading, resolving, deriving: it may hide what is on the plate
    SERVICE = "service"  # firing: it hides when a step starts
    LAYOUT = "layout"  # the laid plate: it hides where a piece lies


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to put right.

    ``slug`` stays the same across versions, and ``hints`` say what to do.  Only an error
    withholds the card; a warning or advice never does.  ``withholds`` is false for the rare
    error that the card itself states in full (:func:`alarm`): the command exits with 1,
    and the card is still drawn.  ``stage`` says where on the road it arose.
    """

    slug: str
    severity: Severity
    span: Span | None
    message: str
    hints: tuple[str, ...] = ()
    withholds: bool = True
    stage: Stage = field(default=Stage.MEANING, compare=False, repr=False)

    @property
    def is_error(self) -> bool:
        """Whether it is an error, which may or may not withhold a card."""
        return self.severity == ERROR


def error(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """A problem that withholds the card."""
    return Problem(slug, ERROR, span, message, tuple(h for h in hints if h))


def alarm(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """An error that does not withhold the card, because the card declares the worse of two possibilities."""
    return Problem(slug, ERROR, span, message, tuple(h for h in hints if h), withholds=False)


def warning(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """A problem that is shown but does not withhold the card."""
    return Problem(slug, WARNING, span, message, tuple(h for h in hints if h))


def advice(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """An opinion about the plate, which never withholds the card."""
    return Problem(slug, ADVICE, span, message, tuple(h for h in hints if h))


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems without repeats, sorted by file, line and column, then by severity, slug and message."""

    def key(p: Problem) -> tuple[str, int, int, int, str, str]:
        span = p.span or Span("", 0, 0)
        return (span.file, span.line, span.column, _RANK[p.severity], p.slug, p.message)

    return tuple(sorted(dict.fromkeys(problems), key=key))


def arisen(stage: Stage, problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems, marked as arisen in ``stage``."""
    return tuple(replace(p, stage=stage) for p in problems)


def has_errors(problems: Iterable[Problem]) -> bool:
    """Whether any of the problems is an error."""
    return any(p.is_error for p in problems)


def has_withholding(problems: Iterable[Problem]) -> bool:
    """Whether any of the problems withholds the card."""
    return any(p.is_error and p.withholds for p in problems)


def printable(text: str) -> str:
    """``text`` made safe for a terminal: control, bidi and surrogate characters are written as escapes."""
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)


def render(problem: Problem, sources: Mapping[str, str] | None = None, width: int = 100) -> str:
    """The problem for a person: its place and message, where that is in the dish, what was written, and what to do.

    ``sources`` maps file names to their text; ``width`` is the most characters shown of a line.
    """
    lines = [one_line(problem)]
    span = problem.span
    text = (sources or {}).get(span.file) if span else None
    if span is not None and text is not None:
        rows = _rows(text)
        if 1 <= span.line <= len(rows):
            if where := whereabouts(text, span.line):
                lines.append(f"    {printable(where)}")
            # A long line is cut to a window round the place, so that what is wrong stays in view.
            row = rows[span.line - 1]
            start = max(0, span.column - 1 - width // 2) if len(row) > width else 0
            written = printable(row[start : start + width].replace("\t", " ")).strip()
            if written:
                lines.append(f"    you wrote: {written}")
    lines += [
        f"    {'' if hint.endswith('?') or hint.startswith(BECAUSE) else 'do: '}{printable(hint)}"
        for hint in problem.hints
    ]
    return "\n".join(lines)


# A hint that gives a reason rather than an order begins so.
BECAUSE = "because: "


@lru_cache(maxsize=8)
def _rows(text: str) -> list[str]:
    return text.splitlines()


def one_line(problem: Problem) -> str:
    """The problem on one line, in the form that editors can follow: ``file:line:column: severity: message``."""
    place = f"{printable(problem.span.file)}:{problem.span.line}:{problem.span.column}: " if problem.span else ""
    return f"{place}{problem.severity}: {printable(problem.message)}"


def as_data(problem: Problem) -> dict[str, object]:
    """The problem as a dictionary for JSON."""
    span = problem.span
    return {
        "file": span.file if span else None,
        "line": span.line if span else None,
        "column": span.column if span else None,
        "severity": problem.severity,
        "slug": problem.slug,
        "message": problem.message,
        "hints": list(problem.hints),
    }


def listed(words: Iterable[str], last: str = "and") -> str:
    """The words as in a sentence: ``a, b and c``, or ``a, b or c``."""
    words = list(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}" if len(words) > 1 else "".join(words)


def nearest(word: str, known: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """Up to ``count`` of the known words, those spelt most like ``word``, best first; often none."""
    import difflib

    folded: dict[str, str] = {}
    for k in known:
        folded.setdefault(k.lower(), k)
    found = difflib.get_close_matches(word.lower()[:80], folded, n=count, cutoff=0.75)
    return tuple(folded[f] for f in found)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that offers the known words nearest to ``word``, or an empty string."""
    return meant(nearest(word, known))


def meant(close: Collection[str], otherwise: str = "") -> str:
    """A hint that offers the words in ``close``; ``otherwise`` if there are none."""
    return f"did you mean {' or '.join(map(repr, close))}?" if close else otherwise
