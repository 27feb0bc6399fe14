"""The allergen declaration, as a block that cannot be mistaken for anything else.

"Contains", "may contain" and "not established" differ in words and in form: a filled
label, an outlined one, a warning sign.  What a law does not cover comes last and is named
as such.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from platecard.allergens.basis import Reach
from platecard.allergens.statement import ABSENT, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.diagnostics import Problem, listed
from platecard.documents.kit.sheet import GREY, INK, WHITE, Block, hanging, label, largest, line_mm, paragraph
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Style, Text
from platecard.drawing.signs import warning_triangle

PAD = 2.0
HEAD = 5.9  # mm of the black bar with the heading


class Declaration(NamedTuple):
    """Every word of a block, before it is known how wide it will be.

    ``open`` says what is not established, where anything is; ``below`` stands below all laws, and ``relies`` below
    that: its first sentence that takes no more than two lines, or else the last.
    """

    established: bool
    open: str
    laws: tuple[_OfLaw, ...]
    below: str
    relies: tuple[str, ...]
    is_short: bool


class _OfLaw(NamedTuple):
    """The words of one law: its name with its act and without, its lists, the sentences below them with their faces.

    A list is the word of its label, whether that is filled, and what it lists.
    """

    in_full: str
    name: str
    lists: tuple[tuple[str, bool, str], ...]
    below: tuple[tuple[str, str], ...]


def block(
    statements: tuple[Statement, ...],
    width: float,
    size_pt: float = 9.0,
    unknown: tuple[str, ...] = (),
    reached: tuple[Reach, ...] = (),
    told: tuple[str, ...] = (),
) -> Block:
    """The whole declaration as a block, ``width`` mm wide."""
    return laid(declaration(statements, unknown, reached, told), width, size_pt)


def declaration(
    statements: tuple[Statement, ...],
    unknown: tuple[str, ...] = (),
    reached: tuple[Reach, ...] = (),
    told: tuple[str, ...] = (),
    is_short: bool = False,
) -> Declaration:
    """The words of a block.

    ``unknown`` says in words what is not established (in a draft); ``reached`` are the dishes
    whose food can reach this one; ``told`` is what its foods can trigger in guests with
    another allergy.  ``is_short`` leaves out the sentences below each law's list and points
    to the next page for them.
    """
    # What is known of the dish itself is listed in full, whatever equipment leaves open.
    known = not unknown and all(s.established_in_itself for s in statements)
    established = known and all(s.established for s in statements)
    shared = _shared(statements, known)
    below = [
        *([] if is_short else [*shared, *(f"{says}." for says in told), *wording.came_over(statements)]),
        *wording.relies_on_cleaning(statements),
    ]
    return Declaration(
        established,
        ""
        if established
        else "; ".join(unknown or (_left_open(statements) if known else ("not every ingredient is known",))),
        tuple(_of_law(s, known, is_short, bool(shared)) for s in statements),
        " ".join(below),
        () if is_short else tuple(wording.relies_on(reached, most) for most in (3, 2, 1, 0)),
        is_short,
    )


def _left_open(statements: tuple[Statement, ...]) -> tuple[str, ...]:
    return (*wording.open_over(statements), *wording.open_recommended(statements))


def laid(said: Declaration, width: float, size_pt: float) -> Block:
    """The words as a block, ``width`` mm wide."""
    items: list[Item] = []
    y = HEAD + 1.0
    if not said.established:
        body = paragraph(said.open, width - 2 * PAD - 8, size_pt, "bold")
        items.append(warning_triangle(PAD, y, 6.0, title="Not established"))
        items.append(body.at(PAD + 8, y))
        y += max(body.height, 6.0) + 1.2
    for number, law in enumerate(said.laws):
        if number:
            items.append(Rect(PAD, y, width - 2 * PAD, 0.2, Style(fill=GREY)))
            y += 0.7
        part = _law(law, width - 2 * PAD, size_pt)
        items.append(part.at(PAD, y))
        y += part.height + 0.4
    if said.below:
        part = paragraph(said.below, width - 2 * PAD, _small(size_pt), y=y + 0.7, x=PAD)
        items += (Rect(PAD, y, width - 2 * PAD, 0.2, Style(fill=GREY)), *part.items)
        y += 0.7 + part.height
    if line := _first_on_two_lines(said.relies, width - 2 * PAD):
        part = paragraph(line, width - 2 * PAD, 8.0, y=y + 0.2, x=PAD)
        items += part.items
        y += 0.2 + part.height
    if said.is_short:
        items.append(Text(PAD, y + 2.8, "More on the allergens is overleaf.", 8.5, "bold"))
        y += 4.0
    return framed(tuple(items), width, y + 0.8, said.established)


def _first_on_two_lines(said: Sequence[str], width: float) -> str:
    """The first of the sentences that takes no more than two lines, or else the last; "" where there is none."""
    return next((line for line in said if len(fonts.wrap(line, width, 8.0)) <= 2), said[-1] if said else "")


def rest(statements: tuple[Statement, ...], width: float, reached: tuple[Reach, ...], told: tuple[str, ...]) -> Block:
    """The sentences that a short block leaves out, law by law and then for all, in a frame of their own."""
    known = all(s.established_in_itself for s in statements)
    shared = _shared(statements, known)
    said = [
        f"{statement.law.name}: {text}" if len(statements) > 1 else text
        for statement in statements
        for text, _ in _below(statement, known, bool(shared))
    ]
    said += [*shared, *(f"{says}." for says in told), *wording.came_over(statements)]
    said += [line] if (line := wording.relies_on(reached, 3)) else []
    part = paragraph(" ".join(said), width - 2 * PAD, 8.0, x=PAD, y=HEAD + 1.0)
    return framed(part.items, width, HEAD + 1.0 + part.height + 0.8, True, "ALLERGENS, CONTINUED")


def sentences(
    statements: tuple[Statement, ...], unknown: tuple[str, ...], reached: tuple[Reach, ...], told: tuple[str, ...]
) -> list[str]:
    """What stands below a table of several laws: what no cell can say."""
    known = not unknown and all(s.established_in_itself for s in statements)
    said = [] if known else ["; ".join(unknown) or "Not every ingredient is known."]
    said += [
        f"{s.law.name}: {line}"
        for s in statements
        for line in (*wording.exempt(s), wording.from_memory(s), wording.not_read(s.not_read, s.is_of_several))
        if line
    ]
    said += [*_limits(statements), *(f"{says}." for says in told), *wording.came_over(statements)]
    said += [*(f"{line}." for line in _left_open(statements)), *wording.relies_on_cleaning(statements)]
    return [*said, *([line] if (line := wording.relies_on(reached, 3)) else [])]


def framed(items: tuple[Item, ...], width: float, height: float, established: bool, title: str = "ALLERGENS") -> Block:
    """The items in the frame of the allergens, under its title."""
    title = title if established else "ALLERGENS: NOT ESTABLISHED"
    size = largest(title, width - 2 * PAD, (11.5, 10.5, 9.5, 8.5), "bold", 1)
    frame: tuple[Item, ...] = (
        Rect(0, 0, width, height, Style(fill=WHITE, stroke=INK, width=0.9)),
        Rect(0, 0, width, HEAD, Style(fill=INK)),
        Text(PAD, 4.35, title, size, "bold", colour=WHITE),
    )
    aside = "derived from the ingredients entered"
    if fonts.width_mm(title, size, "bold") + fonts.width_mm(aside, 8.0) + 3 * PAD < width:
        frame += (Text(width - PAD, 4.2, aside, 8.0, anchor="end", colour=WHITE),)
    return Block(height, (Group((*frame, *items), title="Allergens", role="region"),))


def _small(size_pt: float) -> float:
    return max(8.0, size_pt - 3.0)


def _of_law(statement: Statement, known: bool, is_short: bool, rest_is_shared: bool) -> _OfLaw:
    law = statement.law
    lists = []
    for presence, word, filled in (
        (CONTAINS, "CONTAINS", True),
        (UNKNOWN, "NOT ESTABLISHED", False),
        (MAY, "MAY CONTAIN", False),
    ):
        found = statement.with_presence(presence)
        # Where everything is unknown, the sentence above says more than a list of every group.
        if not found or (presence == UNKNOWN and len(found) > 8 and not known):
            continue
        words = wording.every_other(statement) if presence == UNKNOWN and statement.all_open else wording.names(found)
        lists.append((word, filled, words))
    below = () if is_short and statement.with_presence(CONTAINS) else _below(statement, known, rest_is_shared)
    return _OfLaw(f"{law.name}: {law.act}", law.name, tuple(lists), tuple(below))


def _law(law: _OfLaw, width: float, size_pt: float) -> Block:
    small = _small(size_pt)
    # The act goes where there is no room for it; the names of the laws never do.
    named = paragraph(
        law.in_full if fonts.width_mm(law.in_full, small, "semibold") <= width else law.name,
        width,
        small,
        "semibold",
        GREY,
    )
    items: list[Item] = list(named.items)
    y = named.height + 0.4
    for word, filled, words in law.lists:
        boxed, used = label(0, y, word, small, filled)
        items += boxed
        body = hanging(words, width, used + 1.6, size_pt, "bold" if filled else "semibold", y=y + 0.15)
        items += body.items
        y += max(body.height, line_mm(small) + 0.9) + 0.4
    for text, face in law.below:
        part = paragraph(text, width, small, face, y=y)
        items += part.items
        y += part.height
    return Block(y, tuple(items))


# --- the sentences below the lists -------------------------------------------------------------------------------


def _under_limit(statement: Statement) -> tuple[str, ...]:
    return tuple(f.declared_as for f in statement.with_presence(ABSENT) if f.left_out == "limit")


def _has_rest(statement: Statement, established: bool) -> bool:
    return established and bool(statement.with_presence(CONTAINS) and statement.with_presence(ABSENT))


def _below(statement: Statement, established: bool, rest_is_shared: bool) -> list[tuple[str, str]]:
    """The sentences below one law's lists, with their typeface; not those that :func:`_shared` says for all laws."""
    lines = []
    if not statement.with_presence(CONTAINS) and established:
        lines.append((wording.nothing(statement), "semibold"))
    # Kept with its law, because a guest with that allergy is answered from here.
    lines += [(said, "semibold") for said in wording.exempt(statement)]
    lines += [
        (said, "semibold")
        for said in (wording.from_memory(statement), wording.not_read(statement.not_read, statement.is_of_several))
        if said
    ]
    if rest_is_shared:
        return lines
    if _has_rest(statement, established):
        lines.append(
            (f"Every other group of {wording.these(statement)}: not among the ingredients entered.", "regular")
        )
    lines += [
        (f"{name}: among the ingredients, under the limit of {wording.these(statement)} by calculation.", "regular")
        for name in _under_limit(statement)
    ]
    if also := wording.outside(statement):
        lines.append((f"For guests who ask, not listed by {wording.these(statement)}: {', '.join(also)}.", "regular"))
    return lines


def _shared(statements: tuple[Statement, ...], established: bool) -> list[str]:
    """The sentences that hold for several laws, said once for all; empty for a single law.

    What holds for only some laws is said with their names, so that no law is credited with another's rules.
    """
    if len(statements) < 2:
        return []
    lines = _limits(statements)
    rest = [s.law.name for s in statements if _has_rest(s, established)]
    if rest:
        of = "these laws" if len(rest) == len(statements) else f"{listed(rest)} law"
        lines.append(f"Other groups of {of}: not among the ingredients entered.")
    outside = {s.law.name: wording.outside(s) for s in statements}
    common = [name for name in outside[statements[0].law.name] if all(name in each for each in outside.values())]
    more: dict[tuple[str, ...], list[str]] = {}
    for law, beyond in outside.items():
        if own := tuple(n for n in beyond if n not in common):
            more.setdefault(own, []).append(law)
    said = [f"not listed by these laws: {', '.join(common)}"] if common else []
    said += [f"not listed by {listed(laws)} law: {', '.join(own)}" for own, laws in more.items()]
    if said:
        lines.append(f"For guests who ask, {'; '.join(said)}.")
    return lines


def _limits(statements: tuple[Statement, ...]) -> list[str]:
    """What is under a limit, with the laws whose limit that is."""
    limits: dict[str, list[str]] = {}
    for s in statements:
        if names := ", ".join(_under_limit(s)):
            limits.setdefault(names, []).append(s.law.name)
    if not limits:
        return []
    said = "; ".join(f"{names} ({listed(laws)})" for names, laws in limits.items())
    return [f"Among the ingredients, under the law's limit by calculation: {said}."]


def unknown_in_words(problems: tuple[Problem, ...]) -> tuple[str, ...]:
    """What is not established in a draft: the message of each error about names and allergens."""
    slugs = ("unknown-", "allergens-", "two-candidates", "recipe-loop", "no-source")
    return tuple(dict.fromkeys(p.message for p in problems if p.is_error and p.slug.startswith(slugs)))
