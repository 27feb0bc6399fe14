"""How the label of a product was read, as words and as data, with the line that settles what nobody could read."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from platecard.allergens.labels import check
from platecard.allergens.labels.text import CLAIM, NOT, Part, ReadLabel
from platecard.diagnostics import Span
from platecard.knowledge.catalogue import ANY
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model.nouns import Product
from platecard.pipeline import World


def as_data(product: Product, world: World, place_of: Callable[[Span | None], dict]) -> dict:
    """The reading of a label; nodes by their ids, words as they stand in the text."""
    label, read, tracer = product.label, world.tracer.texts.get(product.key, ReadLabel()), world.tracer
    own = (
        {}
        if label is None
        else {
            listed: [n for w, _ in words if (n := tracer.taxonomy.find(w))]
            for listed, words in (("contains", label.contains), ("may_contain", label.may_contain))
        }
    )
    contains = list(dict.fromkeys((*own.get("contains", ()), *read.contains)))
    return {
        "product": product.key,
        "called": product.called,
        **place_of(product.span),
        "read": label.read if label else None,
        "contains": contains,
        "may_contain": [
            n for n in dict.fromkeys((*own.get("may_contain", ()), *read.may_contain)) if n not in contains
        ],
        "left_open": [
            {"words": o.words, "may_be": list(o.nodes), **place_of(o.place), "column": o.place.column}
            for o in tracer.left_open.get(product.key, ())
        ],
        "not_named_by_its_law": list(tracer.silent.get(product.key, ())),
        "unread": [
            {"word": u.word, "resembles": list(u.near), **place_of(u.place), "column": u.place.column}
            for u in read.unread
        ],
        "settle": check.settling(read) or None,
        "parts": [_part(p, place_of) for p in read.parts],
    }


def _part(part: Part, place_of: Callable[[Span | None], dict]) -> dict:
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
    """Whether nothing of the label is left open."""
    tracer = world.tracer
    return (
        (product.label is not None or bool(product.either))
        and not tracer.left_open.get(product.key)
        and not tracer.silent.get(product.key)
    )


def in_words(product: Product, world: World) -> tuple[str, ...]:
    """The reading of a label for a person, part by part."""
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
    data = as_data(product, world, lambda span: {})
    name = tracer.taxonomy.name
    lines = [
        f"{product.called}, label read {label.read}",
        f"  contains: {', '.join(map(name, data['contains'])) or 'nothing that its label states'}",
    ]
    if data["may_contain"]:
        lines.append(f"  may contain: {', '.join(map(name, data['may_contain']))}")
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
        if data["settle"]:
            lines += ["If these words name no food, write under the label:", f"    {data['settle']}"]
    lines += [
        f"  not settled: {name(n)}, which the law that it was printed for does not make it name"
        for n in data["not_named_by_its_law"]
    ]
    return tuple(lines)


def _lines(part: Part, taxonomy: Taxonomy, depth: int) -> Iterator[str]:
    said = []
    if part.how == CLAIM:
        said.append("a claim: it takes nothing away")
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
