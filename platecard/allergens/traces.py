"""What is in each thing, and how it got there, before any law is asked.

In: the resolved tree.  Out: traces.  A trace says that a node of the taxonomy is
present, may be present or cannot be ruled out, with the chain of places that proves
it.  Nothing is ever subtracted: a plate that is changed is traced anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from platecard.allergens.labels.check import OpenPart, Silent
from platecard.allergens.labels.parts import ReadLabel
from platecard.diagnostics import Problem, Span, error, meant, nearest
from platecard.knowledge import claims, languages
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy
from platecard.model import Kitchen, Label, Product, Unknown
from platecard.quantities.units import shown
from platecard.recipes.resolved import Batch, Bought, Resolved, Use, What, within_dish
from platecard.schema_words import NONE

if TYPE_CHECKING:
    from platecard.allergens.guests.foods import Told


class Presence(StrEnum):
    """Whether an allergen is in something, as far as is known.

    A trace is never ``NOT_AMONG_INGREDIENTS``: only a law's statement says that, of a group that no trace leads to.
    """

    CONTAINS = "contains"
    MAY_CONTAIN = "may_contain"
    NOT_ESTABLISHED = "not_established"
    NOT_AMONG_INGREDIENTS = "not_among_ingredients"

    def __repr__(self) -> str:
        # The code of a dish is a hash over the repr of its values; this keeps it that of the plain word.
        return str.__repr__(self)


CONTAINS, MAY, UNKNOWN = Presence.CONTAINS, Presence.MAY_CONTAIN, Presence.NOT_ESTABLISHED

# A node that reaches a dish along many chains needs only the shortest few as proof.
MAX_CHAINS = 12


class Link(NamedTuple):
    """One step of a chain: its words and its place.  A tuple for the same reason as :class:`Span`."""

    words: str
    span: Span | None


# The state in which something was seen in a food, the way from that food down to it, and what a guest calls it.
Seen = tuple[Presence, tuple[Link, ...], str]


class Over(NamedTuple):
    """Where something came from over shared equipment, and through which equipment, both in a few words."""

    source: str
    words: str


class Trace(NamedTuple):
    """One node of the taxonomy in one state: contains, may_contain or not_established.

    An empty ``node`` stands for any node.  ``form`` is the form the node takes, where some law
    exempts that form.  ``chain`` runs from the thing asked about down to the catalogue entry
    or label.  ``over`` is None for what is in the thing itself.
    """

    node: str
    state: Presence
    form: str
    chain: tuple[Link, ...]
    over: Over | None = None

    def under(self, link: Link) -> Trace:
        """The same trace with ``link`` above it in the chain."""
        return Trace(self.node, self.state, self.form, (link, *self.chain), self.over)


class Tracer:
    """Traces things; each batch is traced only once."""

    def __init__(
        self,
        taxonomy: Taxonomy,
        texts: Mapping[str, ReadLabel] = MappingProxyType({}),
        silent: Mapping[str, tuple[Silent, ...]] = MappingProxyType({}),
        left_open: Mapping[str, tuple[OpenPart, ...]] = MappingProxyType({}),
        uncapped: frozenset[str] = frozenset(),
    ):
        self.taxonomy = taxonomy
        # By product: what a law in force declares, and neither the law the label was printed under nor anything else
        # settles.
        self.silent = silent
        # By product: what the ingredient text of its label says, in addition to the kitchen's own lists.
        self.texts = texts
        # By product: the parts of that text that could not be read or leave something open.
        self.left_open = left_open
        # The products whose label was printed under no law that caps sulphites.
        self.uncapped = uncapped
        # What a food can set off in guests with another allergy: remembered here by ``guests.foods``.
        self.told: dict[tuple[str, str], tuple[Told, ...]] = {}
        self._batches: dict[str, tuple[Trace, ...]] = {}
        self._words: dict[str, tuple[str | None, str]] = {}

    def dish(self, resolved: Resolved) -> tuple[Trace, ...]:
        """All traces of a dish; their chains begin with the dish's name."""
        top = Link(resolved.dish.title, resolved.dish.span)
        found = [
            t.under(Link(part.component.called, part.component.source.span)).under(top)
            for part in resolved.parts
            for t in self.thing(part.use.what)
        ]
        return few(found)

    def thing(self, what: What) -> tuple[Trace, ...]:
        """The traces of one thing; their chains begin with its own name."""
        if isinstance(what, Batch):
            head = self.head(what)
            return tuple(t.under(head) for t in self.inside(what))
        if isinstance(what, Bought):
            return self._bought(what)
        if isinstance(what, Entry):
            return _entry(what, settled=False)
        return (Trace("", UNKNOWN, "", (Link(f"{what.name}: {what.why}", what.span),)),)

    def inside(self, batch: Batch) -> tuple[Trace, ...]:
        """The traces of a batch without its own :meth:`head` above them."""
        # A recipe that contains itself ends in an Unknown, so this always comes to an end.
        if batch.recipe.key not in self._batches:
            self._batches[batch.recipe.key] = few(
                t.under(Link(_used(line), line.span)) for line in batch.lines for t in self.thing(line.what)
            )
        return self._batches[batch.recipe.key]

    def head(self, batch: Batch) -> Link:
        """The link that names a batch."""
        return Link(batch.recipe.called, batch.recipe.span)

    def _bought(self, what: Bought) -> tuple[Trace, ...]:
        product, entry, label = what.product, what.entry, what.product.label
        head = Link(product.shown, product.span)
        if what.either:
            # Any of them may be delivered, so what each of them brings counts.
            return few(t.under(head) for one in what.either for t in self._bought(one))
        found: list[Trace] = []
        if entry is not None:
            found += [t.under(head) for t in _entry(entry, settled=label is not None)]
        if label is not None:
            found += self._label(label, head)
            found += self._text(product, label, head)
            found += self._unsaid(product, label, head)
        elif entry is None:
            found.append(Trace("", UNKNOWN, "", (Link(f"{product.shown}: no label entered", product.span),)))
        for part in self.left_open.get(product.key, ()):
            said = Link(f"nothing on its label settles '{part.words}'", part.place)
            found += [Trace("" if node == ANY else node, UNKNOWN, "", (head, said)) for node in part.nodes]
        return tuple(found)

    def _unsaid(self, product: Product, label: Label, head: Link) -> list[Trace]:
        """What a law in force declares and the law that the label was printed under lets the maker leave out."""
        why = "its ingredient text leaves open what is in it" if label.text else "its ingredient text is not entered"
        return [
            Trace(
                one.node,
                UNKNOWN,
                one.form,
                (
                    head,
                    Link(
                        f"its label need not name {self.taxonomy.name(one.node)} as {one.form.replace('_', ' ')}"
                        if one.form
                        else f"its label need not name {self.taxonomy.name(one.node)}, and {why}",
                        label.span,
                    ),
                ),
            )
            for one in self.silent.get(product.key, ())
        ]

    def _label(self, label: Label, head: Link) -> list[Trace]:
        found = []
        for state, words, says in (
            (CONTAINS, label.contains, "the label says it contains"),
            (MAY, label.may_contain, "the label says it may contain"),
        ):
            for word, span in words:
                node = self.taxonomy.find(word)
                chain = (head, Link(f"{says} {word} (label read {label.read})", span))
                found.append(Trace(node, state, "", chain) if node else Trace("", UNKNOWN, "", chain))
        if label.sulphites_mg_kg and not any(t.node == SULPHITE and t.state == CONTAINS for t in found):
            # A stated level means that they are present, even where the list leaves them out.
            found.append(
                Trace(
                    SULPHITE,
                    CONTAINS,
                    "",
                    (
                        head,
                        Link(
                            f"the label says {shown(label.sulphites_mg_kg, 6)} mg/kg of sulphites (label read"
                            f" {label.read})",
                            label.span,
                        ),
                    ),
                )
            )
        elif label.sulphites_unread and not any(t.node == SULPHITE and t.state == CONTAINS for t in found):
            found.append(
                Trace(
                    SULPHITE,
                    CONTAINS,
                    "",
                    (head, Link("the label states a level of sulphites that could not be read", label.span)),
                )
            )
        return found

    def _text(self, product: Product, label: Label, head: Link) -> list[Trace]:
        """What the label's text names beyond the kitchen's lists counts as well."""
        read = self.texts.get(product.key)
        if read is None:
            return []
        listed = [n for w, _ in (*label.contains, *label.may_contain) if (n := self.taxonomy.find(w))]
        chain = (head, Link(f"the text of its label says so (read {label.read})", label.text_span or label.span))
        found = []
        for node, state in (
            *((n, CONTAINS) for n in read.contains),
            *((n, MAY) for n in read.may_contain if n not in read.contains),
        ):
            if not any(self.taxonomy.is_under(node, n) or self.taxonomy.is_under(n, node) for n in listed):
                forms = {dict(p.forms).get(node, "") for p in read.all() if node in p.nodes}
                found.append(Trace(node, state, forms.pop() if len(forms) == 1 else "", chain))
        return found

    def label_problems(self, product: Product) -> tuple[Problem, ...]:
        """An error for each word of a label's lists that names no allergen."""
        label = product.label
        return tuple(
            error(
                "unknown-allergen-word",
                span,
                f"'{word}' is not an allergen known here",
                _meant(word, self.taxonomy),
            )
            for word, span in ((*label.contains, *label.may_contain) if label else ())
            if self.taxonomy.find(word) is None
        )


def _meant(word: str, taxonomy: Taxonomy) -> str:
    if word.strip().lower() in NONE:
        return "write [] in place of the list, if you read the label and it states none"
    parts = word.split()
    runs = [" ".join(parts[i:j]) for i in range(len(parts)) for j in range(len(parts), i, -1)]
    inside = next((run for run in sorted(runs, key=len, reverse=True) if taxonomy.find(run) is not None), "")
    if inside:
        return f"write '{inside}'"
    abroad = languages.node_of(word)
    if abroad:
        return f"write '{taxonomy.name(abroad)}'"
    return meant(nearest(word, taxonomy.by_word), "write it as in milk, wheat, hazelnut, sulphites")


def _used(line: Use) -> str:
    return f"{shown(line.grams)} g {line.called}" if line.grams is not None else line.called


def _entry(entry: Entry, settled: bool) -> tuple[Trace, ...]:
    """The traces of a catalogue entry; ``settled``: a label has answered what depends on the maker."""
    here = Link(f"{entry.shown} (source: {entry.source})", entry.span)
    present = dict.fromkeys(entry.contains)
    if entry.so2_mg_kg is not None and SULPHITE not in entry.depends:
        present[SULPHITE] = None
    found = [Trace(node, CONTAINS, entry.form_of(node), (here,)) for node in present]
    found += [Trace(node, MAY, "", (here,)) for node in entry.may if node not in present]
    if not settled:
        asked = entry.ask or "it depends on the maker, and no label is entered"
        for node in entry.depends:
            found.append(
                Trace("" if node == ANY else node, UNKNOWN, "", (Link(f"{entry.shown}: {asked}", entry.span),))
            )
    return tuple(found)


def few(traces: Iterable[Trace]) -> tuple[Trace, ...]:
    """The traces without repetition, at most the :data:`MAX_CHAINS` shortest for each node, state and form.

    Nodes keep the order in which they first appear, so the result follows the recipe.
    """
    by_kind: dict[tuple[str, Presence, str], list[Trace]] = {}
    for trace in traces:
        by_kind.setdefault((trace.node, trace.state, trace.form), []).append(trace)
    found: list[Trace] = []
    for same in by_kind.values():
        found += same if len(same) == 1 else _shortest(same)
    return tuple(found)


def _shortest(same: list[Trace]) -> list[Trace]:
    # The shortest come first, so that most of a long list is never looked at.
    unique: dict[Trace, None] = {}
    for trace in sorted(same, key=lambda t: len(t.chain)):
        unique[trace] = None
        if len(unique) > MAX_CHAINS:
            return list(unique)[:MAX_CHAINS]
    return list(dict.fromkeys(same))


def not_established(resolved: Resolved, taxonomy: Taxonomy, kitchen: Kitchen) -> tuple[Problem, ...]:
    """An error for each thing whose allergens are not established, at the place where it is used."""
    found: list[Problem] = []
    seen: set[int] = set()
    folder = kitchen.folder

    def walk(what: What, span: Span, called: str) -> None:
        if isinstance(what, Batch):
            if id(what) not in seen:
                seen.add(id(what))
                for line in what.lines:
                    walk(line.what, line.span, line.called)
        elif isinstance(what, Bought) and what.either:
            for one in what.either:
                walk(one, span, called)
        elif isinstance(what, Bought) and what.product.label is None and (what.entry is None or what.entry.depends):
            found.append(
                error(
                    "label-unread", what.product.span, f"the label of '{what.product.shown}' has errors", "correct it"
                )
                if what.product.label_has_errors
                else _label_wanted(
                    what.entry, what.product.shown, what.product.span, folder, taxonomy, what.product.key
                )
            )
        elif isinstance(what, Entry) and what.depends:
            found.append(
                error(
                    "allergens-not-established",
                    span,
                    f"the label of '{called}' may be in the pantry, which has errors",
                    "put those right first",
                )
                if kitchen.is_unread("product", "")
                else _label_wanted(what, called, span, folder, taxonomy)
            )

    for part in resolved.parts:
        walk(part.use.what, part.use.span, claims.shown(part.component.source.name))
    return tuple(found)


def _label_wanted(
    entry: Entry | None, called: str, span: Span, folder: str, taxonomy: Taxonomy, key: str = ""
) -> Problem:
    """The error for a food whose label is needed; ``key`` is its product, where the pantry already has it."""
    if entry is not None and entry.ask and not key:
        return error(
            "allergens-not-established",
            span,
            f"'{called}' is too vague for its allergens to be known",
            entry.ask,
            f"write the exact name, or enter it in {folder}/pantry.yaml with the label of what is bought",
        )
    which = (
        "the allergens"
        if entry is None or entry.depends_on_everything
        else ", ".join(taxonomy.name(n) for n in entry.depends)
    )
    one = entry is not None and len(entry.depends) == 1 and not entry.depends_on_everything
    look = (
        f"look for {', '.join(taxonomy.name(n) for n in entry.look_for)}"
        if entry is not None and entry.look_for
        else ""
    )
    label = "label: {read: 2026-10-02, contains: [...]}, with the day it was read"
    do = (
        f"read its label, and write under {key}: {label}"
        if key or entry is None
        else f"enter it in {folder}/pantry.yaml (is: {entry.name}) with its {label}"
    )
    return error(
        "allergens-not-established",
        span,
        f"{which} of '{called}' depend{'s' if one else ''} on the maker, and no label is entered",
        do,
        look,
    )


def unknowns(resolved: Resolved) -> tuple[Unknown, ...]:
    """Every name in the dish that could not be resolved."""
    return tuple(dict.fromkeys(what for what in within_dish(resolved) if isinstance(what, Unknown)))
