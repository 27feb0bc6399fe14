"""What the documents of a dish rely on: files, the rest of the menu, labels, and what was left unread.

In: the resolved dishes of the menu.  Out: :class:`Menu`, worked out once, and a
:class:`Basis` for each dish.  Nothing is decided here: it is reported, so that whoever
answers for the dish can see what the answer depends on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from platecard.allergens.traces import UNKNOWN, Trace, unknowns
from platecard.diagnostics import Span
from platecard.model import Product, Unknown
from platecard.recipes.resolved import Batch, Bought, Resolved, What, within


class Counted(NamedTuple):
    """A dish that counted as part of the menu.

    ``is_read`` is false where its spec has errors that hide what it sends through which equipment.
    """

    key: str
    title: str
    file: str
    is_read: bool


class ReadOn(NamedTuple):
    """A label that the dish relies on, with the day it was read."""

    key: str
    called: str
    read: str
    span: Span


class Reach(NamedTuple):
    """The dishes whose food reaches a dish over one piece of equipment.

    Where ``equipment`` is empty, they reach it over several pieces of equipment in a row.
    """

    equipment: str
    called: str
    dishes: tuple[Counted, ...]


class Menu(NamedTuple):
    """The menu as it was counted: its dishes, who uses which equipment, and where food can travel from.

    ``linked`` pairs each piece of equipment with all those from which food can come to it.
    """

    dishes: tuple[Counted, ...] = ()
    users: tuple[tuple[str, tuple[Counted, ...]], ...] = ()
    linked: tuple[tuple[str, tuple[str, ...]], ...] = ()


class Basis(NamedTuple):
    """What the documents of one dish rely on.

    ``files`` are those read for it: its spec, the kitchen, its recipes and pantry files.  ``menu``
    are all dishes that counted, ``reached`` those whose food can reach it.  ``unread`` is what
    could not be read, found or weighed.
    """

    files: tuple[str, ...] = ()
    menu: tuple[Counted, ...] = ()
    reached: tuple[Reach, ...] = ()
    labels: tuple[ReadOn, ...] = ()
    unread: tuple[Unknown, ...] = ()


def counted(menu: Iterable[tuple[Counted, tuple[Resolved, ...]]], touches: Callable[[str], bool]) -> Menu:
    """The menu from its dishes; each comes with the resolved dish and its resolved swaps.

    ``touches`` tells whether food meets food in a piece of equipment.
    """
    dishes: list[Counted] = []
    users: dict[str, dict[Counted, None]] = {}
    beside: dict[str, set[str]] = {}
    inside: dict[str, frozenset[str]] = {}
    for dish, resolved in menu:
        dishes.append(dish)
        for one in resolved:
            for part in one.parts:
                used = [e for e in (*part.component.equipment, *_inside(part.use.what, inside)) if touches(e)]
                for equipment in used:
                    users.setdefault(equipment, {})[dish] = None
                    beside.setdefault(equipment, set()).update(used)
    for dish in dishes:
        if not dish.is_read:  # it may have sent anything through whatever others use
            for who in users.values():
                who[dish] = None
    linked = ((e, tuple(sorted(_reach(e, beside)))) for e in users)
    return Menu(tuple(dishes), tuple((e, tuple(who)) for e, who in users.items()), tuple(linked))


def _reach(start: str, beside: dict[str, set[str]]) -> set[str]:
    """All equipment from which food can come to ``start``, over however many others."""
    found, waiting = {start}, [start]
    while waiting:
        new = beside[waiting.pop()] - found
        found |= new
        waiting += new
    return found


def of(
    key: str,
    resolved: Resolved,
    menu: Menu,
    kitchen_file: str,
    names: dict[str, str],
    unread: Iterable[Unknown] = (),
    traces: Iterable[Trace] = (),
) -> Basis:
    """What a dish relies on, in the menu as it was counted; of ``traces``, those that are not established count."""
    files: dict[str, None] = {resolved.dish.span.file: None, **({kitchen_file: None} if kitchen_file else {})}
    labels: dict[str, ReadOn] = {}
    equipment: dict[str, None] = {}
    if resolved.plate is not None:
        files[resolved.plate.span.file] = None
    for part in resolved.parts:
        equipment.update(dict.fromkeys(part.component.equipment))
        for what in within(part.use.what):
            if isinstance(what, Batch):
                files[what.recipe.span.file] = None
                equipment.update(dict.fromkeys(what.recipe.equipment))
            elif isinstance(what, Bought):
                _bought(what.product, files, labels)
    return Basis(
        tuple(files),
        menu.dishes,
        _reached(key, equipment, menu, names),
        tuple(labels.values()),
        _open((*unknowns(resolved), *unread), traces),
    )


def _open(known: tuple[Unknown, ...], traces: Iterable[Trace]) -> tuple[Unknown, ...]:
    """What is not established: the unknowns of the tree, and the end of every other chain that is left open."""
    found = {f"{u.name}: {u.why}": u for u in known}
    for trace in traces:
        if trace.state == UNKNOWN:
            end = trace.chain[-1]
            found.setdefault(end.words, Unknown(end.words, end.span or trace.chain[0].span))
    return tuple(found.values())


def _bought(product: Product, files: dict[str, None], labels: dict[str, ReadOn]) -> None:
    files[product.span.file] = None
    if product.label is not None:
        labels[product.key] = ReadOn(product.key, product.shown, product.label.read, product.label.span)


def _reached(own: str, equipment: Iterable[str], menu: Menu, names: dict[str, str]) -> tuple[Reach, ...]:
    users, linked = dict(menu.users), dict(menu.linked)
    found: list[Reach] = []
    told = {own}
    for gear in equipment:
        dishes = tuple(d for d in users.get(gear, ()) if d.key != own)
        if dishes:
            found.append(Reach(gear, names.get(gear, gear), dishes))
            told.update(d.key for d in dishes)
    others = dict.fromkeys(other for gear in equipment for other in linked.get(gear, ()))
    further = dict.fromkeys(d for other in others for d in users[other] if d.key not in told)
    return (*found, Reach("", "", tuple(further))) if further else tuple(found)


def _inside(what: What, known: dict[str, frozenset[str]]) -> Iterable[str]:
    """The equipment of a recipe and of all recipes inside it, in a steady order."""
    if not isinstance(what, Batch):
        return ()
    if what.recipe.key not in known:
        inner = (_inside(line.what, known) for line in what.lines)
        known[what.recipe.key] = frozenset(what.recipe.equipment).union(*inner)
    return sorted(known[what.recipe.key])
