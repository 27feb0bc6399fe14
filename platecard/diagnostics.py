"""What went wrong, where, and how to say it.

Every stage returns its problems as values; nothing is thrown and nothing is
printed on the way.  Sorting and wording live here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

ERROR, WARNING, ADVICE = "error", "warning", "advice"


class Span(NamedTuple):
    """A place in a text: file, line and column (both from 1), length in characters.

    A tuple, since there are hundreds for each dish, and they are compared and hashed in every chain of reasons.
    """

    file: str
    line: int = 1
    column: int = 1
    length: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend.

    ``slug`` is stable across versions, ``severity`` is ``error`` (withholds the
    card), ``warning`` or ``advice`` (never do), ``hints`` say what to do.
    ``withholds`` is false for the rare error that the card itself tells in full
    (:func:`alarm`): the command ends with 1, and the card is drawn.
    """

    slug: str
    severity: str
    span: Span | None
    message: str
    hints: tuple[str, ...] = ()
    withholds: bool = True

    @property
    def is_error(self) -> bool:
        return self.severity == ERROR


def error(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """An :class:`Problem` that withholds the card."""
    return Problem(slug, ERROR, span, message, tuple(h for h in hints if h))


def alarm(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """An error that withholds nothing, because the card declares the worse of the two things that may be true."""
    return Problem(slug, ERROR, span, message, tuple(h for h in hints if h), withholds=False)


def warning(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """A :class:`Problem` that is shown but withholds nothing."""
    return Problem(slug, WARNING, span, message, tuple(h for h in hints if h))


def advice(slug: str, span: Span | None, message: str, *hints: str) -> Problem:
    """A :class:`Problem` that is an opinion about the plate."""
    return Problem(slug, ADVICE, span, message, tuple(h for h in hints if h))


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems by place, each once: file, line, column, then severity and slug."""
    rank = {ERROR: 0, WARNING: 1, ADVICE: 2}

    def key(p: Problem):
        span = p.span or Span("", 0, 0)
        return (span.file, span.line, span.column, rank[p.severity], p.slug, p.message)

    return tuple(sorted(dict.fromkeys(problems), key=key))


def has_errors(problems: Iterable[Problem]) -> bool:
    return any(p.is_error for p in problems)


def has_withholding(problems: Iterable[Problem]) -> bool:
    """Whether one of them withholds the card."""
    return any(p.is_error and p.withholds for p in problems)


def printable(text: str) -> str:
    """``text`` with control, bidi and surrogate characters spelt out, safe for a terminal."""
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)


def render(problem: Problem, sources: Mapping[str, str] | None = None, width: int = 100) -> str:
    """The problem for a person: place, sentence, the line with a caret, what to do."""
    lines = [one_line(problem)]
    span = problem.span
    text = (sources or {}).get(span.file) if span else None
    if text is not None:
        rows = _rows(text)
        if 1 <= span.line <= len(rows):
            # A long line is cut to a window round the place, so that the caret is in view.
            row = rows[span.line - 1]
            start = max(0, span.column - 1 - width // 2) if len(row) > width else 0
            shown = printable(row[start : start + width].replace("\t", " "))
            length = max(1, min(span.length, width - (span.column - 1 - start), 60))
            number = f"{span.line:>5}"
            lines.append(f"{number} | {shown}")
            lines.append(f"      | {' ' * (span.column - 1 - start)}{'^' * length}")
    lines += [f"        {printable(hint)}" for hint in problem.hints]
    return "\n".join(lines)


@lru_cache(maxsize=8)
def _rows(text: str) -> list[str]:
    return text.splitlines()


def one_line(problem: Problem) -> str:
    """The problem on one line, as editors read it."""
    place = f"{printable(problem.span.file)}:{problem.span.line}:{problem.span.column}: " if problem.span else ""
    return f"{place}{problem.severity}: {printable(problem.message)} [{problem.slug}]"


def as_data(problem: Problem) -> dict:
    """The problem as a mapping for JSON."""
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


def nearest(word: str, known: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """The known words that look most like ``word``, best first (may be empty)."""
    import difflib

    folded: dict[str, str] = {}
    for k in known:
        folded.setdefault(k.lower(), k)
    found = difflib.get_close_matches(word.lower()[:80], folded, n=count, cutoff=0.75)
    return tuple(folded[f] for f in found)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint that names the nearest known words, or an empty string."""
    return meant(nearest(word, known))


def meant(close: Collection[str], otherwise: str = "") -> str:
    """A hint that names the words that may be meant; ``otherwise`` where there are none."""
    return f"did you mean {' or '.join(map(repr, close))}?" if close else otherwise
