"""A spec's nodes to a :class:`~platecard.model.Dish`."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from platecard import schema
from platecard.diagnostics import Problem, error
from platecard.knowledge import claims
from platecard.layout import arrangements
from platecard.model import Acknowledged, Component, Dish, Revision, Step, Swap, Written
from platecard.reading import finish, supply
from platecard.reading.agreements import agreements, unknown_laws
from platecard.reading.fields import Fields, checked_date, source_of, spelt_out, unprintable
from platecard.reading.steps import step
from platecard.reading.written import words
from platecard.yaml_nodes import Mapping, Node, Sequence, parse

# More than that is neither laid by hand nor drawn: no cook could count it.
MOST_PIECES = 200
SECTIONS = ("plating", "garnish", "at_table")


def dish(text: str, file: str, key: str) -> tuple[Dish | None, tuple[Written, ...], tuple[Problem, ...]]:
    """A spec's text as a Dish, the words it is written in, and the problems.

    ``key`` names its documents (it is the file's own name).
    """
    node, problems = parse(text, file)
    if node is None:
        return None, (), problems
    undrawn = unprintable(node)
    found = [*problems, *undrawn, *schema.check(node, "dish", problems)]
    if not isinstance(node, Mapping) or schema.is_beyond(found):
        return None, (), tuple(found)
    return _dish(Fields(spelt_out(node) if undrawn else node, found), key), words(node), tuple(found)


def _dish(f: Fields, key: str) -> Dish:
    components = f.node.get("components")
    made = (
        tuple(_component(k, v, f.problems) for k, v in components.entries.items())
        if isinstance(components, Mapping)
        else ()
    )
    steps: list[Step] = []
    for section in SECTIONS:
        moves = f.node.get(section)
        for move in moves.items if isinstance(moves, Sequence) else ():
            if isinstance(move, Mapping):
                steps.append(step(Fields(move, f.problems), len(steps) + 1, section))
    steps = _bounded(steps, f.problems)
    result = Dish(
        key=key,
        title=f.text("dish", key),
        span=f.node.place("dish"),
        menu_line=f.text("menu_line"),
        course=f.text("course"),
        revision=_revision(f),
        plate=f.text("plate"),
        plate_span=f.span("plate"),
        serve=tuple((k, f.sub("serve").text(k)) for k in ("plate", "food") if k in f.sub("serve")),
        components=made,
        steps=tuple(steps),
        expo_checks=f.words("expo_checks"),
        note=f.text("note"),
        acknowledged=_acknowledged(f),
        plating_s=finish.seconds(f, "plating_takes", "time at the pass") or Fraction(0),
        check_s=finish.seconds(f, "check_takes", "time at the pass") or Fraction(0),
        plates_warm_s=finish.seconds(f, "plates_warm", "holding time"),
        price=supply.dish_price(f),
        only_named=f.placed_words("only_named"),
        is_draft=f.true("draft"),
        is_trial=f.true("trial"),
        all_moves_read=_all_moves_read(f),
        guests=max(1, f.whole("for", 1)),
    )
    f.problems += [*unknown_laws(result), *agreements(result)]
    return result


def _all_moves_read(f: Fields) -> bool:
    """Whether every move could be read, so that a component that none of them names is on none of them."""
    sections = [f.node.get(s) for s in SECTIONS if s in f]
    return "plating" in f and all(
        isinstance(s, Sequence) and all(isinstance(move, Mapping) for move in s.items) for s in sections
    )


def _bounded(steps: list[Step], problems: list[Problem]) -> list[Step]:
    """The steps, with no more pieces than can be laid on a plate.

    Where there are more, one piece stands for all of them, and an error says so.  A step without a
    count is one thing, and a spec has only so many steps.
    """
    kept, laid = [], 0
    for s in steps:
        if "count" not in s.places:
            kept.append(s)
            continue
        pattern = arrangements.find(s.arrange)
        most = pattern.most if pattern and pattern.most else MOST_PIECES
        if s.count > most:
            problems.append(
                error(
                    "too-many-pieces",
                    s.place("count"),
                    f"{s.count} pieces of '{s.put}' in one {s.arrange}; it should be at most {most}",
                    "set up several stacks, or heap them: arrange: cluster",
                )
            )
            s = replace(s, count=1)
        elif laid <= MOST_PIECES < laid + s.count:
            problems.append(
                error(
                    "too-many-pieces",
                    s.place("count"),
                    f"with {s.count} pieces of '{s.put}' the plate has {laid + s.count}; it should be at most"
                    f" {MOST_PIECES}",
                    "if the pieces are too small to count, give an amount instead: amount: 12 g, arrange: pool,"
                    " across: 50 mm",
                )
            )
        laid += s.count
        kept.append(replace(s, count=1) if laid > MOST_PIECES else s)
    return kept


def _revision(f: Fields) -> Revision | None:
    r = f.sub("revision")
    if "revision" not in f:
        return None
    return Revision(r.whole("number", 0), checked_date(r, "date"), r.text("note"), r.node.span)


def _acknowledged(f: Fields) -> Acknowledged | None:
    node = f.node.get("acknowledged")
    if not isinstance(node, Mapping):
        return None
    a = f.sub("acknowledged")
    laws = tuple((k, a.words(k)) for k in node.entries if k != "revision")
    return Acknowledged(
        a.whole("revision", 0), laws, tuple((k, node.keys[k]) for k, _ in laws), f.node.place("acknowledged")
    )


def _component(key: str, node: Node, problems: list[Problem]) -> Component:
    f = Fields(node, problems)
    swaps = f.node.get("swap")
    offered = swaps.items if isinstance(swaps, Sequence) else (swaps,)
    return Component(
        key=key,
        called=f.text("called") or key.replace("-", " "),
        source=source_of(f, f"'{key}'"),
        station=f.text("station"),
        span=f.node.span,
        equipment=f.words("equipment"),
        may_be_left_off=f.true("may_be_left_off"),
        swaps=tuple(_swap(Fields(s, problems)) for s in offered if isinstance(s, Mapping)),
        colour=f.text("colour"),
        note=f.text("note"),
        finish=finish.steps(f),
        handling=finish.handling(f),
        colour_span=f.span("colour"),
        equipment_span=f.span("equipment"),
        station_span=f.span("station"),
    )


def _swap(f: Fields) -> Swap:
    avoided, use = f.placed_words("avoiding"), source_of(f.sub("use"), "the swap")
    return Swap(
        tuple(word for word, _ in avoided),
        use,
        f.node.span,
        tuple(span for _, span in avoided),
        claims.shown(use.name.replace("-", " ")),
    )
