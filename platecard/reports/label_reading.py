"""How the label of a product was read, in words and as data, with the line that settles what was not understood."""

from __future__ import annotations

from collections.abc import Iterator

from platecard.allergens.labels import check
from platecard.allergens.labels.matching import NOT
from platecard.allergens.labels.parts import CLAIM, Part, ReadLabel
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model import Product
from platecard.prepared import World
from platecard.reports import PlaceOf


def as_data(product: Product, world: World, place_of: PlaceOf) -> dict[str, object]:
    """The reading of a label for JSON: nodes by their ids, words as they are in the text."""
    label, read, tracer = product.label, world.tracer.texts.get(product.key, ReadLabel()), world.tracer
    contains, may_contain = _stated(product, world)
    return {
        "product": product.key,
        "called": product.called,
        **place_of(product.span),
        "read": label.read if label else None,
        "contains": contains,
        "may_contain": may_contain,
        "left_open": [
            {"words": o.words, "may_be": list(o.nodes), **place_of(o.place), "column": o.place.column}
            for o in tracer.left_open.get(product.key, ())
        ],
        "not_named_by_its_law": list(dict.fromkeys(s.node for s in tracer.silent.get(product.key, ()) if s.is_open)),
        "unread": [
            {"word": u.word, "resembles": list(u.near), **place_of(u.place), "column": u.place.column}
            for u in read.unread
        ],
        "settle": check.settling(read) or None,
        "parts": [_part(p, place_of) for p in read.parts],
    }


def _stated(product: Product, world: World) -> tuple[list[str], list[str]]:
    """The nodes that a label contains and may contain, from its lists and from its text."""
    label, read, find = product.label, world.tracer.texts.get(product.key, ReadLabel()), world.tracer.taxonomy.find
    listed, listed_may = (label.contains, label.may_contain) if label is not None else ((), ())
    contains = list(dict.fromkeys((*(n for w, _ in listed if (n := find(w))), *read.contains)))
    may = dict.fromkeys((*(n for w, _ in listed_may if (n := find(w))), *read.may_contain))
    return contains, [n for n in may if n not in contains]


def _part(part: Part, place_of: PlaceOf) -> dict[str, object]:
    return {
        "words": part.words,
        "read_as": part.how,
        "entries": list(part.entries),
        "contains": list(part.nodes),
        "may_contain": list(part.may),
        "open": list(part.unknown),
        **place_of(part.place),
        "column": part.place.column if part.place else None,
        "parts": [_part(p, place_of) for p in part.parts],
    }


def is_settled(product: Product, world: World) -> bool:
    """Whether the product has a label, or alternatives, with nothing left open."""
    tracer = world.tracer
    return (
        (product.label is not None or bool(product.either))
        and not tracer.left_open.get(product.key)
        and not any(s.is_open for s in tracer.silent.get(product.key, ()))
    )


def in_words(product: Product, world: World) -> tuple[str, ...]:
    """The reading of a label as lines, part by part."""
    label, tracer = product.label, world.tracer
    if label is None:
        return (
            product.called,
            (
                "  no label is entered: its allergens are not established"
                if not product.either
                else f"  either of {', '.join(k for k, _ in product.either)}"
            ),
        )
    contains, may_contain = _stated(product, world)
    name = tracer.taxonomy.name
    lines = [
        f"{product.called}, label read {label.read}",
        f"  contains: {', '.join(map(name, contains)) or 'nothing that its label states'}",
    ]
    if may_contain:
        lines.append(f"  may contain: {', '.join(map(name, may_contain))}")
    read = tracer.texts.get(product.key)
    if read is None:
        lines.append("  its text is not entered")
    else:
        lines += [f"  {line}" for part in read.parts for line in _lines(part, tracer.taxonomy, 0)]
        for unread in read.unread:
            near = f"; it may be {' or '.join(map(name, unread.near))}" if unread.near else ""
            lines.append(
                f"  not understood: '{unread.word}' at line {unread.place.line}, column {unread.place.column}{near}"
            )
        if settle := check.settling(read):
            lines += ["If these words name no food, write under the label:", f"    {settle}"]
    lines += [
        f"  not settled: {name(s.node)}, which the law it was printed for does not require it to name"
        + (f" as {s.form.replace('_', ' ')}; ask the maker, and write maker_asked: with the day" if s.form else "")
        for s in tracer.silent.get(product.key, ())
        if s.is_open
    ]
    return tuple(lines)


def _lines(part: Part, taxonomy: Taxonomy, depth: int) -> Iterator[str]:
    said = []
    if part.how == CLAIM:
        said.append("a claim: it removes nothing")
    elif part.how == NOT:
        said.append("not understood")
    elif part.matched:
        said.append(f"read as {part.matched}")
    for word, nodes in (("contains", part.nodes), ("may contain", part.may), ("leaves open", part.unknown)):
        if nodes:
            said.append(f"{word} {', '.join('any allergen' if n == ANY else taxonomy.name(n) for n in nodes)}")
    yield f"{'  ' * depth}- {part.words}" + (f": {'; '.join(said)}" if said else "")
    for inner in part.parts:
        yield from _lines(inner, taxonomy, depth + 1)
