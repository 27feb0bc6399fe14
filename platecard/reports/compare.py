"""``platecard compare``: what changed between two revisions, in words, as data and as a picture."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import NamedTuple

from platecard.diagnostics import Problem, Span
from platecard.diff.dishes import ALARM, WORSE, Change, Comparison, in_doubt
from platecard.documents.text import wording
from platecard.files.reading import Project
from platecard.prepared import Prepared

_CHAPTERS = (
    ("ALLERGENS", ("problem", "law", "allergen", "guest")),
    ("THE PLATE", ("component", "count", "position", "size", "weight", "facing", "order")),
    ("RECIPES AND PRODUCTS", ("recipe", "product")),
    ("SERVICE", ("equipment", "plate", "serve", "cost", "timing", "caution", "expo")),
    ("WORDS", ("text",)),
)
_LONGEST = 600  # characters of a line of text; the data is not cut


class Side(NamedTuple):
    """One of the two sides: how it was named, its texts and, of an earlier copy, which one it is."""

    said: str
    project: Project
    revision: str = ""

    def place(self, span: Span | None) -> dict[str, str | int | None]:
        """File and line as they can be opened from here or named to git; None for both if there is no span."""
        return {"file": None, "line": None} if span is None else {"file": self._file(span.file), "line": span.line}

    def located(self, problem: Problem) -> Problem:
        """The problem with its file as in :meth:`place`."""
        return (
            problem
            if problem.span is None
            else replace(problem, span=problem.span._replace(file=self._file(problem.span.file)))
        )

    def _file(self, shown: str) -> str:
        path = self.project.on_disk(shown)
        return f"{self.revision}:{path}" if self.revision and not shown.startswith("platecard/data/") else path


def before(old: Side, new: Side) -> Side:
    """The old side without the new dish on its menu, where two files of one folder are compared.

    The new side keeps the old file on its menu, as it is now.  So equipment that both use
    can only make an allergen come in, never hide one.
    """
    if old.revision or new.revision or old.project.root != new.project.root or old.project.asked == new.project.asked:
        return old
    return old._replace(
        project=old.project._replace(specs=tuple(s for s in old.project.specs if s.key not in new.project.asked))
    )


def in_words(old: Side, new: Side, was: Prepared, now: Prepared, found: Comparison) -> list[str]:
    """The changes as lines, by chapter with allergens first, and a line that sums them up."""
    title = now.dish.title if now.dish else was.dish.title if was.dish else now.key
    lines = [title, f"  old: {named(old, was)}", f"  new: {named(new, now)}"]
    for side, one in (("old", was), ("new", now)):
        if in_doubt(one):
            lines.append(
                f"  the {side} revision has errors, so this comparison may not be complete; see platecard check"
            )
    for chapter, kinds in _CHAPTERS:
        told = [c for c in found.changes if c.kind in kinds]
        if told:
            lines += ["", chapter]
        for c in told:
            lines.append(f"{'!!' if c.severity == ALARM else '  '} {_short(c.words)}")
            lines += [f"      {_short(reason)}" for reason in c.reasons]
            if c.kind == "allergen" and c.span is not None:
                place = (old if c.in_old else new).place(c.span)
                lines.append(f"        {place['file']}:{place['line']}")
    return [
        *lines,
        "",
        tally(found, was, now),
        *([wording.CAUTION] if any(c.kind in ("allergen", "guest", "law") for c in found.changes) else []),
    ]


def named(side: Side, one: Prepared) -> str:
    """A side as it was named, with the revision of its dish."""
    revision = one.dish.revision if one.dish else None
    return side.said + (f" (revision {revision.number} of {revision.date})" if revision else "")


def tally(found: Comparison, was: Prepared, now: Prepared) -> str:
    """One line: ``nothing changed``, or how many changes there are and which allergens came in."""
    if not found.changes:
        return "no change can be seen: errors are in the way" if in_doubt(was) or in_doubt(now) else "nothing changed"
    if any(c.kind == "problem" for c in found.changes):
        return "NOT ESTABLISHED: what changed is not known"
    n, names = len(found.changes), tuple(dict.fromkeys(c.what.replace("_", " ") for c in found.alarms))
    beside = tuple(
        dict.fromkeys(c.what.replace("_", " ") for c in found.changes if c.kind == "allergen" and c.severity == WORSE)
    )
    said = [f"{n} {'change' if n == 1 else 'changes'}"]
    if names:
        said.append(f"LOOK AT THE ALLERGENS: {', '.join(names)}")
    if beside:
        said.append(f"came in, though no law in force declares it: {', '.join(beside)}")
    if not names and not beside:
        said.append(
            "because of errors it is not known whether an allergen came in"
            if in_doubt(was) or in_doubt(now)
            else "no allergen came in, as far as entered"
        )
    return "; ".join(said)


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[:_LONGEST].rstrip() + " …"


def as_data(old: Side, new: Side, found: Comparison) -> dict[str, object]:
    """The comparison for JSON; the words of an allergen include the first chain that proves it."""
    return {"old": old.said, "new": new.said, "changes": [_change(c, old, new) for c in found.changes]}


def _change(c: Change, old: Side, new: Side) -> dict[str, object]:
    return {
        "kind": c.kind,
        "what": c.what,
        "old": c.old,
        "new": c.new,
        "law": c.law,
        "severity": c.severity,
        "words": "; because ".join((c.words, *c.reasons[:1])),
        **(old if c.in_old else new).place(c.span),
    }


def picture(path: str, old: Side, new: Side, was: Prepared, now: Prepared, found: Comparison) -> bytes:
    """The two diagrams side by side with the changes below: PDF if ``path`` ends in .pdf, else SVG."""
    from platecard.documents.pages import comparison
    from platecard.drawing import pdf, svg

    chapter_of = {kind: chapter.capitalize() for chapter, kinds in _CHAPTERS for kind in kinds}
    lines = tuple(
        comparison.Line(c.words, c.reasons[:1], c.severity == ALARM, chapter_of.get(c.kind, "")) for c in found.changes
    )
    restless = frozenset(c.what for c in found.changes if c.kind == "component" and c.old and c.new)
    names = named(old, was), named(new, now)
    summed = tally(found, was, now)
    if os.path.splitext(path)[1].lower() == ".pdf":
        pages = comparison.pages(was, now, found.moved, lines, names, summed, restless)
        dish = now.dish or was.dish
        title = f"{dish.title}: what changed" if dish else "What changed"
        settings = now.world.kitchen.settings
        return pdf.write(
            pages,
            title=title,
            author=comparison.drawable(settings.called),
            subject="Comparison of two revisions",
            language=settings.language,
        )
    return svg.write(comparison.picture(was, now, found.moved, lines, names, summed, restless)).encode("utf-8")
