"""All labels of a kitchen, read once: their texts, what each leaves open, and what the law lets it leave out."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field

from platecard.allergens.labels import check, text
from platecard.allergens.labels.check import OpenPart, Silent, Stated
from platecard.allergens.labels.parts import CLAIM, ReadLabel
from platecard.diagnostics import Problem, Span, advice, did_you_mean, error, warning
from platecard.knowledge import laws
from platecard.knowledge.catalogue import Catalogue, Entry
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.laws import Law
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy
from platecard.model import Kitchen, Label, Product
from platecard.recipes.unknown_names import not_in_pantry


@dataclass(frozen=True, slots=True)
class Labels:
    """What the labels say, by the key of the product.

    ``left_open`` are the parts of a text that could not be read or that settle nothing;
    ``silent`` are the nodes that a law in force declares, that no law the label was printed under
    makes the maker name, and that neither the catalogue nor a text read in full settles; and those
    that these laws let the maker leave out in the form in which they may be there.
    ``uncapped`` are the products whose label was printed under no law that caps sulphites.
    ``of_products`` are the problems that touch one product alone.
    """

    texts: dict[str, ReadLabel] = field(default_factory=dict)
    left_open: dict[str, tuple[OpenPart, ...]] = field(default_factory=dict)
    silent: dict[str, tuple[Silent, ...]] = field(default_factory=dict)
    of_products: dict[str, tuple[Problem, ...]] = field(default_factory=dict)
    uncapped: frozenset[str] = frozenset()
    problems: tuple[Problem, ...] = ()


def read_labels(kitchen: Kitchen, catalogue: Catalogue, taxonomy: Taxonomy, in_force: list[Law]) -> Labels:
    """Every label of the kitchen, and where texts, lists and names disagree."""
    watched = frozenset(n for law in in_force for g in law.groups for n in g.nodes)
    made = Labels()
    for product in kitchen.products.values():
        found = list(not_in_pantry(product, kitchen))
        label = product.label
        read: ReadLabel | None = None
        parts: tuple[OpenPart, ...] = ()
        stated = stated_of(label, taxonomy) if label is not None else Stated({}, {})
        if label is not None and label.text:
            read, parts, faults = read_one(label, stated, catalogue, taxonomy, watched)
            made.texts[product.key] = read
            found += faults
        if label is not None or product.is_a:
            left_open = bool(parts)
            named = _against_names(product, read, stated, catalogue, taxonomy, watched)
            entry = catalogue.find(product.called).entry
            for node, problem in named:
                # A text that was read in full says what is in the product, whatever it is called; that it may not
                # have been entered in full is told. Cheddar without milk is no cheddar: that stays open.
                if read is None or left_open or (entry is not None and node in entry.contains):
                    found.append(problem)
                    parts = (*parts, OpenPart(product.called, product.span, (node,)))
                else:
                    found.append(_is_it_whole(problem))
        if parts:
            made.left_open[product.key] = parts
        if found:
            made.of_products[product.key] = tuple(found)
    silent, problems = _silent(kitchen, made.texts, catalogue, taxonomy, in_force)
    uncapped = _uncapped(kitchen)
    return Labels(made.texts, made.left_open, silent, made.of_products, uncapped, tuple(problems))


def stated_of(label: Label, taxonomy: Taxonomy) -> Stated:
    """The lists of a label as nodes; None for a list that was not written down."""
    contains, may = (
        {n: s for w, s in words if (n := taxonomy.find(w))} for words in (label.contains, label.may_contain)
    )
    return Stated(
        contains if "contains" in label.lists else None,
        may if "may_contain" in label.lists or "contains" in label.lists else None,
        label.read_whole,
    )


def read_one(
    label: Label, stated: Stated, catalogue: Catalogue, taxonomy: Taxonomy, watched: Collection[str] = ()
) -> tuple[ReadLabel, tuple[OpenPart, ...], tuple[Problem, ...]]:
    """One label's text, what it leaves open, and its problems."""
    span = label.text_span or label.span
    faults = check.means_something(label.means_nothing, label.text, catalogue, taxonomy)
    wrong = {p.span for p in faults if p.is_error}
    nothing = frozenset(fold(word) for word, place in label.means_nothing if place not in wrong)
    read, found = text.read(label.text, span, catalogue, taxonomy, nothing)
    parts = check.open_parts(read, stated, catalogue, taxonomy, span)
    told = check.compare(read, stated, taxonomy, span, watched, parts)
    if not stated.read_whole:
        parts = (*(OpenPart(u.word, u.place, (ANY,)) for u in read.unread), *parts)
        if not read.names_something:
            parts = (*parts, OpenPart("its text", span, (ANY,)))
    return read, parts, (*faults, *found, *told)


def _against_names(
    product: Product,
    read: ReadLabel | None,
    stated: Stated,
    catalogue: Catalogue,
    taxonomy: Taxonomy,
    watched: frozenset[str],
) -> list[tuple[str, Problem]]:
    """Each allergen that a product's names suggest and that nothing covers.

    Its names are its key, what it is called and its other names, taken together.
    """
    span = product.label.span if product.label is not None else product.is_a_span or product.span
    entry = catalogue.find(product.is_a).entry if product.is_a else None
    covered = {
        **dict.fromkeys((*(entry.contains if entry else ()), *(read.contains if read else ())), span),
        **(stated.contains or {}),
    }
    found: dict[str, Problem] = {}
    names, key = (product.called, *product.also), product.key.replace("-", " ")
    # A key that merely shortens the name (cracker, for rice cracker) adds nothing to it.
    is_short = any(set(fold(key).split()) <= set(fold(name).split()) for name in names)
    for written in dict.fromkeys(names if is_short else (*names, key)):
        if check.may_name_something(written, catalogue, taxonomy, watched):
            named = text.read(written, span, catalogue, taxonomy, guess=False)[0]
            for node, problem in check.against_name(
                written, named, Stated(covered, stated.may), taxonomy, span, watched
            ):
                found.setdefault(node, problem)
    return list(found.items())


def _is_it_whole(problem: Problem) -> Problem:
    """A warning in place of the error that a product's name does not fit its lists, where its text decides."""
    said = problem.message.partition(", which")[0]
    return warning(
        "text-against-name",
        problem.span,
        f"{said}, which the text of its label does not name",
        "compare it with the pack: the text decides, and has to be entered whole",
    )


def _silent(
    kitchen: Kitchen, texts: dict[str, ReadLabel], catalogue: Catalogue, taxonomy: Taxonomy, in_force: list[Law]
) -> tuple[dict[str, tuple[Silent, ...]], list[Problem]]:
    """For each label, what it need not name and nothing settles.

    That is reported once, where it is not said which law labels were printed for.
    """
    settings, found = kitchen.settings, []
    wanted = tuple(dict.fromkeys(n for law in in_force for n in _nodes(law)))
    known: dict[tuple[str, ...], tuple[str, ...]] = {}

    def unnamed(keys: tuple[str, ...], place: Span | None) -> tuple[str, ...]:
        if keys not in known:
            named: set[str] = set()
            for key in keys:
                law = laws.load(key)[0]
                if law is None:
                    hint = did_you_mean(key, laws.names()) or "laws: " + ", ".join(laws.names())
                    found.append(error("unknown-law", place, f"there is no law '{key}' on file", hint))
                else:
                    named.update(_must_name(law, in_force))
            known[keys] = tuple(
                n
                for n in wanted
                if not named.intersection(taxonomy.lineage(n)) and not any(m in named for m in taxonomy.below(n))
            )
        return known[keys]

    silent: dict[str, tuple[Silent, ...]] = {}
    assumed: dict[str, None] = {}
    for product in kitchen.products.values():
        label = product.label
        if label is None:
            continue
        keys = _printed_under(label, kitchen)
        nodes = unnamed(keys, label.printed_for_span or settings.labels_printed_for_span or settings.laws_span)
        read = texts.get(product.key)
        nodes = tuple(n for n in nodes if not label.maker_asked and not _settled(n, product, read, catalogue, taxonomy))
        if label.sulphites_mg_kg is not None:
            nodes = tuple(n for n in nodes if n != SULPHITE)  # the level says it
        forms = _left_out(label, keys, _entries(product, texts, catalogue), taxonomy, in_force)
        if nodes or forms:
            silent[product.key] = (*(Silent(n) for n in nodes), *forms)
            is_said = label.printed_for or settings.labels_printed_for
            assumed |= {} if is_said else dict.fromkeys(taxonomy.name(n) for n in nodes)
    if assumed and settings.span is not None:  # where the kitchen's file is missing, that is told, and nothing else
        first = laws.load(settings.laws[0])[0]
        found.append(
            advice(
                "labels-printed-for",
                settings.laws_span,
                f"labels are taken to be printed for {first.name if first else settings.laws[0]}, which does not"
                f" require them to name {', '.join(assumed)}",
                f"write labels_printed_for: {settings.laws[0]} in kitchen.yaml, and printed_for: under the label of"
                " what comes from elsewhere",
            )
        )
    return silent, found


def _printed_under(label: Label, kitchen: Kitchen) -> tuple[str, ...]:
    """The laws that a label was printed under; where nobody says, the first law in force."""
    return label.printed_for or kitchen.settings.labels_printed_for or kitchen.settings.laws[:1]


def _uncapped(kitchen: Kitchen) -> frozenset[str]:
    """The products whose maker no law on file holds to a ceiling of sulphites."""

    def caps(key: str) -> bool:
        law = laws.load(key)[0]
        return law is not None and law.sulphites is not None and law.sulphites.ceilings

    return frozenset(
        product.key
        for product in kitchen.products.values()
        if product.label is not None and not any(map(caps, _printed_under(product.label, kitchen)))
    )


def _entries(
    product: Product, texts: dict[str, ReadLabel], catalogue: Catalogue
) -> Iterator[tuple[Entry, Collection[str]]]:
    """What a product is and what its text names, each with the nodes that are left open there."""
    if product.is_a and (entry := catalogue.find(product.is_a).entry) is not None:
        yield entry, entry.depends
    read = texts.get(product.key)
    for part in read.all() if read is not None else ():
        if part.how != CLAIM and part.unknown:
            for key in part.entries:
                if (entry := catalogue.by_id(key)) is not None:
                    yield entry, part.unknown


def _left_out(
    label: Label,
    printed_for: tuple[str, ...],
    entries: Iterable[tuple[Entry, Collection[str]]],
    taxonomy: Taxonomy,
    in_force: list[Law],
) -> tuple[Silent, ...]:
    """What may be in a product in a form that no law its label was printed under makes the maker name."""
    if label.maker_asked:
        return ()
    printed = [law for key in printed_for if (law := laws.load(key)[0]) is not None]
    found: dict[Silent, None] = {}
    for entry, unknown in entries:
        for node, form in entry.form:
            above = taxonomy.lineage(node)
            if node in entry.contains or not (node in unknown or ANY in unknown):
                continue
            if any(_requires(law, node, taxonomy, in_force) and not law.exempts(form, above) for law in printed):
                continue
            asking = [law for law in in_force if _lists(law, node, taxonomy)]
            outright = (
                any(e.form == form and e.node in above and e.takes_away for e in law.exemptions) for law in asking
            )
            if asking:
                found[Silent(node, form, not all(outright))] = None
    return tuple(found)


def _requires(law: Law, node: str, taxonomy: Taxonomy, in_force: list[Law]) -> bool:
    """Whether a label printed under a law cannot leave out a node, one above it, or one below it."""
    return any(taxonomy.is_under(node, n) or taxonomy.is_under(n, node) for n in _must_name(law, in_force))


def _lists(law: Law, node: str, taxonomy: Taxonomy) -> bool:
    """Whether a law lists a node, one above it, or one below it."""
    return any(taxonomy.is_under(node, n) or taxonomy.is_under(n, node) for group in law.groups for n in group.nodes)


def _settled(node: str, product: Product, read: ReadLabel | None, catalogue: Catalogue, taxonomy: Taxonomy) -> bool:
    """Whether the catalogue, or a text that was read in full, says if ``node`` is in the product."""
    entry = catalogue.find(product.is_a).entry if product.is_a else None
    if entry is not None and not any(
        d == ANY or taxonomy.is_under(node, d) or taxonomy.is_under(d, node) for d in entry.depends
    ):
        return True
    return read is not None and not check.may_hold(read, node, taxonomy)


def _must_name(law: Law, in_force: list[Law]) -> Iterator[str]:
    """The nodes that a label printed under a law cannot leave out: those that it requires, and not from memory.

    Where only added sulphites have to be named, a label without them says nothing to a law that counts natural ones.
    """
    for group in law.groups:
        if group.level == "mandatory":
            yield from (node for node in group.nodes if group.mark_of(node) != laws.MEMORY)
    rule = law.sulphites
    if rule is not None and (
        not rule.only_added or all(other.sulphites is None or other.sulphites.only_added for other in in_force)
    ):
        yield SULPHITE


def _nodes(law: Law) -> Iterable[str]:
    yield from (n for group in law.groups for n in group.nodes)
    if law.sulphites is not None:
        yield SULPHITE
