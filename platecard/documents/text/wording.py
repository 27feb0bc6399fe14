"""Steps, pieces and findings in a cook's words, the same in every document."""

from __future__ import annotations

from collections.abc import Sequence

from platecard.allergens.basis import Basis, Reach
from platecard.allergens.statement import ABSENT, LEVELS, Finding, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Presence
from platecard.knowledge import duties
from platecard.knowledge.duties import Duty
from platecard.knowledge.laws import MEMORY, Law
from platecard.layout import arrangements, shapes
from platecard.layout.place_words import mm, place
from platecard.model import Dish, Piece, Plate, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

CAUTION = (
    "Derived from the ingredients entered. Check supplier labels, ask the kitchen when in doubt, and follow local food"
    " law and the practice of those licensed to run this kitchen."
)

PRESENCE = {
    CONTAINS: "contains",
    MAY: "may contain",
    UNKNOWN: "not established",
    ABSENT: "not among the ingredients entered",
}

FOOD = {
    "frozen": "food frozen",
    "cold": "food cold",
    "room": "food at room temperature",
    "warm": "food warm",
    "hot": "food hot",
}
SERVE = {"chilled": "chilled plate", "room": "plate at room temperature", "warm": "warm plate", "hot": "hot plate"}


def noun(shape: str, count: int) -> str:
    """``slice`` or ``slices``."""
    kind = shapes.find(shape)
    return (kind.words if kind else (shape, shape + "s"))[count > 1]


def shape(piece: Piece, count: int) -> str:
    """The noun for a piece, in the number of ``count``."""
    return noun(piece.shape, count)


def size(piece: Piece, high: str = "high") -> str:
    """``22 mm`` or ``45 × 20 mm``, with the height if it is given."""
    flat = (
        f"{shown(piece.length_mm)} × {shown(piece.width_mm)} mm"
        if piece.length_mm != piece.width_mm
        else f"{shown(piece.length_mm)} mm"
    )
    if piece.last_mm is not None:
        flat = f"from {shown(piece.length_mm)} to {shown(piece.last_mm)} mm"
    if piece.hole_mm is not None:
        flat += f" with a hole of {shown(piece.hole_mm)} mm"
    return f"{flat}, {shown(piece.height_mm)} mm {high}" if piece.height_mm is not None else flat


def standing(piece: Piece) -> str:
    """The size of a piece that stands on its end: ``44 mm tall on a foot of 24 mm, 2 mm thick``."""
    thick = f", {shown(piece.height_mm)} mm thick" if piece.height_mm is not None else ""
    return f"{shown(piece.length_mm)} mm tall on a foot of {shown(piece.width_mm)} mm{thick}"


def shared(dish: Dish) -> str:
    """``for 4 to share``; "" for a plate that one guest eats."""
    return f"for {dish.guests} to share" if dish.guests > 1 else ""


def facing(step: Step) -> str:
    """Which way a piece faces: a standing one by its flat side, a leaning one by its raised end.

    A leaf without a direction lies any way.
    """
    text = step.facing.text
    if step.facing.up:
        text = text.replace(f"{step.facing.up} up", side_up(step))
    if step.facing.stance == "standing":
        return text.replace("points to ", "points ").replace("points", "flat side facing") if text else "standing"
    if step.facing.stance == "leaning":
        return text.replace("points to ", "points towards ").replace("points", "raised end") if text else "leaning"
    if not text and step.piece is not None and step.piece.shape in ("leaf", "frond"):
        return "lying any way"
    return text


_DIRECTIONS = ("out", "in", "up", "down", "away", "inwards", "outwards")


def side_up(step: Step) -> str:
    """Which side of a piece shows: ``cut face up``, or the chef's own words where they say the direction already."""
    up = step.facing.up
    return up if not up or up.split()[-1] in _DIRECTIONS else f"{up} up"


def what(step: Step) -> str:
    """What goes on the plate: ``slices 45 × 20 mm, 6 mm high, 12 g each`` or ``45 ml, 120 mm across``."""
    said = []
    stance = step.facing.stance
    high = "thick" if stance == "leaning" else "high"
    if step.piece is not None:
        said.append(
            f"{shape(step.piece, step.count)}"
            f" {standing(step.piece) if stance == 'standing' else size(step.piece, high)}"
        )
        if step.piece.weight_g is not None:
            said.append(f"{shown(step.piece.weight_g, 2)} g{' each' if step.count > 1 else ''}")
    if step.amount is not None:
        said.append(step.amount.text)
    if step.across_mm is not None:
        pattern = arrangements.find(step.arrange)
        said.append(f"{mm(step.across_mm)} {pattern.across if pattern else 'across'}")
    return ", ".join(said)


_RELATED = {
    "beside": "beside {}",
    "behind": "behind {}, away from the guest",
    "under": "under {}",
    "around": "along the edge of {}",
    "alternating_with": "one between each two of {}",
}


def called(key: str, dish: Dish) -> str:
    """The name of a component, or its key if the dish has none of that key."""
    component = dish.component(key)
    return component.called if component else key


def on(step: Step, dish: Dish) -> str:
    """What a step's pieces lie on: ``on char and the rim``."""
    return "on " + " and ".join("the rim" if k == "rim" else called(k, dish) for k in step.on)


def related(step: Step, dish: Dish) -> list[str]:
    """The components that a step's pieces are placed by: ``beside char``."""
    return [words.format(called(name, dish)) for key, words in _RELATED.items() if (name := getattr(step, key))]


def where(
    step: Step, dish: Dish, plate: Plate | None = None, borne: str = "", gaps: str = "", covering: str = ""
) -> str:
    """Where a step's pieces go, in words a cook can follow without the picture.

    ``borne``, ``gaps`` and ``covering`` are what only the laid plate tells, from
    :mod:`~platecard.documents.text.placement_text`.
    """
    said = []
    pattern = arrangements.find(step.arrange)
    if pattern is not None and not (step.around and step.start is None):  # around without a start is all round it
        said += [words for words in (pattern.said(step, plate),) if words]
    said += related(step, dish)
    if step.clear_mm is not None:
        said.append(f"{mm(step.clear_mm)} from it")
    if step.at is not None:
        if pattern is not None and pattern.starts_at and not step.around:
            said.append(
                f"the first at {clock_text(float(step.at.clock_deg))}"
                if step.at.clock_deg is not None
                else f"round the point {place(step.at, None, plate)}"
            )
        else:
            said.append(
                f"{'on its side' if step.beside else 'the first'} towards {clock_text(float(step.at.clock_deg))}"
                if (step.beside or step.around) and step.at.clock_deg is not None
                else place(step.at, step.out, plate)
            )
    if borne or step.on:
        spread = step.count > 1 and step.arrange == "one" and step.at is None and step.within is None
        lying = borne or on(step, dish) + (", spread as drawn" if spread else "")
        said.append(f"{said.pop()} {lying}" if said == ["scattered"] else lying)
    if covering:
        said.append(covering)
    elif step.overlap is not None:
        said.append(f"each covering {shown(step.overlap * 100)} % of the one before")
    if step.gap_mm is not None:
        said.append(f"at least {mm(step.gap_mm)} apart")
    if gaps:
        said.append(gaps)
    if not said:
        said.append("in the centre")
    if step.poured:
        said.append(f"poured {step.poured}" if not step.poured.startswith("poured") else step.poured)
    return ", ".join(said)


def poured(step: Step) -> str:
    """How it is poured, for a place where a heading already says that it is at the table."""
    return step.poured.removeprefix("poured ").removeprefix("at the table").lstrip(" ,")


def counts(step: Step) -> str:
    """``10 to 16`` if the count may vary, else empty."""
    a = step.accept.count
    return f"{max(step.count - a, 0)} to {step.count + a}" if step.piece is not None and a else ""


def accept(step: Step) -> str:
    """What expo accepts; a count is exact unless the chef allows more or fewer."""
    a = step.accept
    said = (f"{step.count} ±{a.count}" if a.count else f"exactly {step.count}") if step.piece is not None else ""
    return ", ".join(w for w in (said, leeway(step)) if w)


def leeway(step: Step) -> str:
    """How far place, turn, weight and look may differ: ``±5 mm, ±10°, weight ±10 %``."""
    said = []
    a = step.accept
    if a.place_mm is not None:
        said.append(f"±{mm(a.place_mm)}")
    if a.turn_deg is not None:
        said.append(f"±{shown(a.turn_deg)}°")
    if a.weight is not None:
        said.append(f"weight ±{shown(a.weight * 100)} %")
    if a.words:
        said.append(a.words)
    return ", ".join(said)


def seen_leeway(step: Step) -> str:
    """The part of :func:`leeway` that expo can see: place, turn and look; weight is the cook's."""
    a = step.accept
    said = [f"±{mm(a.place_mm)}"] if a.place_mm is not None else []
    said += [f"±{shown(a.turn_deg)}°"] if a.turn_deg is not None else []
    return ", ".join([*said, *([a.words] if a.words else [])])


def counted(step: Step) -> str:
    """How many expo counts: ``7×``, ``6 to 8×`` where the chef lets the count vary, ``45 ml`` of what is poured."""
    many = count(step)
    if step.piece is None or arrangements.is_poured(step):
        return many if step.amount else ""
    return f"{counts(step) or many}×"


def count(step: Step) -> str:
    """What the large numeral of a step says: how many pieces, or the amount."""
    return (
        f"{step.count}"
        if step.piece is not None and not arrangements.is_poured(step)
        else (step.amount.text if step.amount else "1")
    )


def chain(links: tuple[Link, ...]) -> str:
    """A chain of reasons as one line, from the dish to the catalogue or label, each name in a row of the same once.

    ``500 g Pearl barley > Pearl barley > pearl barley (source: EU-A2)`` reads ``500 g pearl barley (source: EU-A2)``.
    """
    said: list[str] = []
    for words in (link.words for link in links):
        name = words.partition(" (")[0]
        before = said[-1] if said else ""
        amount = before[: len(before) - len(name)]
        if (
            name
            and before.casefold().endswith(name.casefold())
            and (not amount or (amount[0].isnumeric() and amount.endswith(" ")))
        ):
            said[-1] = amount + words
        else:
            said.append(words)
    return " > ".join(said)


def these(statement: Statement) -> str:
    """``this law``, or ``these laws`` where a statement says what any of several declares."""
    return "these laws" if statement.is_of_several else "this law"


def every_other(statement: Statement) -> str:
    """What is said where every group that is not contained is not established."""
    return f"every other group of {these(statement)}"


def nothing(statement: Statement) -> str:
    """What a card says if a law declares nothing; it never says that what the law leaves out is absent."""
    if any(f.left_out for f in statement.with_presence(ABSENT)):
        return f"No group of {these(statement)} has to be declared for the ingredients entered."
    is_open = statement.with_presence(MAY) or statement.with_presence(UNKNOWN)
    declares = "declare" if statement.is_of_several else "declares"
    return (
        f"No group that {these(statement)} {declares} is a stated ingredient."
        if is_open
        else f"No group that {these(statement)} {declares} is among the ingredients entered."
    )


LEFT_OUT = {"limit": "in it, under the limit", "exempt": "in it, exempt", "perhaps exempt": "perhaps in it, exempt"}
"""Why a law leaves something undeclared that is in a dish, in short."""


def outside(statement: Statement) -> tuple[str, ...]:
    """What is in a dish, may be in it, or is not established, and stands outside a law."""
    states = {MAY: " (may contain)", UNKNOWN: " (not established)"}
    return tuple(a.name + states.get(a.presence, "") for a in statement.also)


def exempt(statement: Statement) -> tuple[str, ...]:
    """What may be left undeclared because of its form, a sentence for what is there and one for what may be."""
    return tuple(
        f"{said} under {these(statement)}: {', '.join(names)}."
        for left_out, said in (("exempt", "In it, but exempt"), ("perhaps exempt", "Perhaps in it, and exempt"))
        if (
            names := [
                f"{f.declared_as} ({f.in_short})" for f in statement.with_presence(ABSENT) if f.left_out == left_out
            ]
        )
    )


def from_memory(statement: Statement) -> str:
    """What decides something in a dish and is on file from memory alone, as one sentence; "" where nothing is."""
    if not statement.from_memory:
        return ""
    return f"From memory, not verified in {these(statement)}: {'; '.join(statement.from_memory)}."


def not_read(said: Sequence[str], of_several: bool = False) -> str:
    """What a law is only said to leave out, and is not left out, as it was not read itself; "" where nothing is."""
    told = "; ".join(said)
    of = "these laws" if of_several else "this law"
    return f"Not checked in the text of {of}: {told}. To be safe, it is declared all the same." if said else ""


def duty(law: Law, place: str) -> str:
    """What the law asks for food on a plate in a place, as one sentence."""
    return " ".join(asks(d, law) for d in duties.of(law.key, place) if d.food == "plate")


def asks(duty: Duty, law: Law) -> str:
    """What is asked for one kind of food, as one sentence; what is known from memory alone says so."""
    where = f"{law.name}, {duty.name}" if duty.name else law.name
    what = "a plate" if duty.food == "plate" else "what is packed here"
    unsure = " (from memory, not verified)" if duty.mark == MEMORY else ""
    return f"Duty for {what} ({where}): {duty.says}{unsure}."


def open_over(statements: tuple[Statement, ...]) -> tuple[str, ...]:
    """What shared equipment leaves not established, a sentence for each source; summed up if it is everything."""
    found = _by_source(statements, UNKNOWN)
    is_everything = len(found) == 1 and all(s.all_open for s in statements)
    words = {source: "any other allergen" if is_everything else ", ".join(names) for source, names in found.items()}
    return tuple(
        f"Not established over shared equipment: {named}, from the {source}" for source, named in words.items()
    )


def open_recommended(statements: tuple[Statement, ...]) -> tuple[str, ...]:
    """One sentence where the dish itself leaves open what a law does not require to be named; empty otherwise."""
    is_open = any(f.is_own and f.level in LEVELS for s in statements for f in s.with_presence(UNKNOWN))
    return ("Not established: some foods that need not be named",) if is_open else ()


def names(found: Sequence[Finding]) -> str:
    """Findings as a list; a level that several share is said once, behind them."""
    said = []
    for level in dict.fromkeys(f.level for f in found):
        same = list(dict.fromkeys(f._replace(level="").in_full for f in found if f.level == level))
        more = f" ({'all ' if len(same) > 1 else ''}{LEVELS[level]})" if level in LEVELS else ""
        said.append(", ".join(same) + more)
    return "; ".join(said)


def came_over(statements: tuple[Statement, ...]) -> tuple[str, ...]:
    """One sentence on what the dish may contain through shared equipment, each from its nearest source.

    Empty if nothing came that way.
    """
    said = "; ".join(f"{', '.join(names)} from the {source}" for source, names in _by_source(statements, MAY).items())
    return (f"Over shared equipment: {said}.",) if said else ()


def _by_source(statements: tuple[Statement, ...], presence: Presence) -> dict[str, list[str]]:
    """The allergens that came through equipment, by source, each named as in the first law that lists it."""
    found: dict[str, list[str]] = {}
    named: set[str] = set()
    for f in (f for s in statements for f in s.with_presence(presence)):
        if f.over and f.allergen not in named:
            named.add(f.allergen)
            found.setdefault(f.over, []).append(f.declared_as)
    return found


def relies_on_cleaning(statements: tuple[Statement, ...]) -> tuple[str, ...]:
    """One sentence on the cleaning that keeps other dishes' allergens away; empty if there is none."""
    named = tuple(dict.fromkeys(words for s in statements for words in s.relies_on))
    return (f"Relies on {', '.join(named)}.",) if named else ()


def relies_on(reached: tuple[Reach, ...], most: int) -> str:
    """The dishes whose food can reach this one, at most ``most`` of them by name and the rest counted.

    Empty if the dish shares no equipment.  A dish is named by its title up to the first
    comma, if no other dish's title begins so.
    """
    titles = tuple(dict.fromkeys(d.title for r in reached for d in r.dishes))
    short = [title.split(",")[0] for title in titles]
    dishes = [title if short.count(brief) > 1 else brief for title, brief in zip(titles, short)]
    if not dishes:
        return ""
    gear = [r.called.removeprefix("the ") for r in reached if r.called]
    through = f"the {gear[0]}" if len(gear) == 1 and all(r.called for r in reached) else "equipment it shares"
    named, rest = dishes[:most], len(dishes) - most
    more = [f"{rest} {'more' if named else 'other'} dish{'es' if rest > 1 else ''}"] if rest > 0 else []
    others = " and ".join([*(["; ".join(named)] if named else []), *more])
    return f"These allergens also depend on what else uses {through}: {others}."


def stands_on(basis: Basis) -> list[str]:
    """Everything that the documents of a dish are based on, line by line."""
    lines = [f"read for it: {', '.join(basis.files)}"]
    unread = [d.file for d in basis.menu if not d.is_read]
    lines.append(
        f"counted for shared equipment: {len(basis.menu)} {'dish' if len(basis.menu) == 1 else 'dishes'}"
        + (f", not read: {', '.join(unread)}" if unread else "")
    )
    for r in basis.reached:
        near = f"shares the {r.called.removeprefix('the ')} with" if r.called else ""
        far = "further off, over several pieces of equipment"
        lines.append(f"{near or far}: {'; '.join(d.title for d in r.dishes)}")
    lines += [f"label of {one.called}, read {one.read}" for one in basis.labels]
    lines += [f"not established: {u.name}{f': {u.why}' if u.why else ''}" for u in basis.unread]
    return lines
