"""What a label's text says against what the kitchen declared: a difference is an error.

The kitchen's lists decide what the card shows; this only says where the two do not
agree, where the text leaves something open, and which words nobody knew.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from ..knowledge.catalogue import ANY, Catalogue
from ..knowledge.taxonomy import Taxonomy
from ..knowledge.words import fold, runs
from ..problems import Problem, Span, advice, error, warning
from .label_text import SAID, Part, ReadLabel
from .label_words import words


class _Lists:
    """The kitchen's lists as node → place, with the questions asked of them.

    ``watched`` are the nodes that the laws in force list.
    """

    def __init__(self, label: ReadLabel, contains: Mapping[str, Span], may: Mapping[str, Span], taxonomy: Taxonomy, span: Span, watched: Collection[str]):
        self.label, self.contains, self.may, self.taxonomy, self.span, self.watched = label, contains, may, taxonomy, span, watched
        self.words = words()[0]
        self.every = tuple(label.all())
        self.aside: dict[str, None] = {}

    def name(self, node: str) -> str:
        return self.taxonomy.name(node)

    def related(self, node: str, others: Iterable[str]) -> bool:
        return any(self.taxonomy.is_under(node, o) or self.taxonomy.is_under(o, node) for o in others)

    def quiet(self, node: str) -> bool:
        return node not in self.watched and any(self.taxonomy.is_under(node, root) for root in self.words.seldom)

    def undeclared(self) -> Iterable[Problem]:
        """Nodes of the text that the kitchen's lists lack."""
        for node in self.label.contains:
            if self.related(node, self.contains):
                continue
            holders = [p for p in self.every if node in p.nodes]
            place, said = holders[0].place or self.span, f"the text says '{_short(holders[0].words)}', but {self.name(node)} is not in contains"
            if self.quiet(node):
                self.aside[self.name(node)] = None
            elif node in self.words.limited and not any(self._named(p, node) for p in holders):
                yield warning("label-below-limit", place, said, "right if the label's own level lies below the limit: give that level")
            elif all(node in dict(p.forms) for p in holders):
                yield warning("label-exempt-form", place, f"{said}; it is there as {dict(holders[0].forms)[node].replace('_', ' ')}",
                              "some laws exempt this form; declare it for all others")
            else:
                yield error("label-undeclared", place, said + (", only in may_contain" if self.related(node, self.may) else ""),
                            f"add {self.name(node)} to contains, or mend the text")
        for part in self.every:
            for node in part.may if part.how == SAID else ():
                if self.related(node, self.contains) or self.related(node, self.may):
                    continue
                if self.quiet(node):
                    self.aside[self.name(node)] = None
                else:
                    yield error("label-undeclared", part.place or self.span, f"the text says '{_short(part.words)}', but {self.name(node)} is not in may_contain",
                                f"add {self.name(node)} to may_contain, or mend the text")

    def words_in(self, called: str) -> Iterable[str]:
        """The allergens named by one or two words of what leaves much open: the walnut of a walnut bread, but no milk of a coconut milk."""
        if ANY in self.label.open:
            yield from (node for run in runs(called, 2) if (node := self.taxonomy.find(run)))

    def against_name(self, called: str) -> Iterable[Problem]:
        """Nodes of the product's name that the kitchen's lists lack; what some laws exempt or limit may rightly be missing there."""
        for node in dict.fromkeys((*self.label.contains, *self.words_in(called))):
            holders = [p for p in self.every if node in p.nodes]
            is_exempt = bool(holders) and all(node in dict(p.forms) for p in holders)
            # A list is written for the laws in force: what they do not list is rightly missing there.
            if self.related(node, self.contains) or not self.related(node, self.watched) or node in self.words.limited or is_exempt:
                continue
            yield error("label-against-name", self.span, f"'{called}' sounds like {self.name(node)}, which is not in contains" + (", only in may_contain" if self.related(node, self.may) else ""),
                        f"add {self.name(node)} to contains; if it is not in there, copy the label's whole text, or say with is: what it is")

    def _named(self, part: Part, node: str) -> bool:
        return any(f" {w} " in f" {fold(part.words)} " for w in self.words.limited[node])

    def not_in_text(self) -> Iterable[Problem]:
        """Declared nodes that the text does not say.  What it leaves open may be them."""
        for listed, nodes in (("contains", self.contains), ("may_contain", self.may)):
            for node, place in nodes.items():
                is_open = listed == "contains" and (ANY in self.label.open or self.related(node, self.label.open))
                if is_open or self.related(node, (*self.label.contains, *self.label.may_contain)):
                    continue
                said = f"{self.name(node)} is in {listed}, but the text does not say it"
                if self.label.unrecognised:
                    yield warning("label-not-in-text", place, said, "one of the words that were not recognised may be it")
                else:
                    yield error("label-not-in-text", place, said, "copy the whole text with its statements, or mend the list")

    def which_kind(self) -> Iterable[Problem]:
        """A group that some laws want named kind by kind, and the list names none."""
        for group in self.words.kinds_wanted:
            kinds = [n for n in self.taxonomy.below(group) if n != group]
            if group in (*self.contains, *self.label.contains) and not any(n in self.contains for n in kinds):
                named = [self.name(n) for n in kinds if n in self.label.contains]
                yield warning("label-which-kind", self.contains.get(group, self.span), f"'{self.name(group)}' does not say which",
                              f"the text names {', '.join(named)}: declare that" if named else "ask the supplier and declare the kind")

    def to_look_at(self) -> Iterable[Problem]:
        """What a person should hold against the pack."""
        for part in self.every:
            if part.emphasised and part.how != SAID and not any(not self.quiet(n) for p in part.all() for n in (*p.nodes, *p.may)):
                yield warning("label-emphasis", part.place or self.span, f"the label stresses '{_short(part.words)}', and no allergen is known in it",
                              "look at the pack again")
        if self.label.unrecognised:
            yield warning("label-words-not-recognised", self.span, f"not recognised in the label's text: {_some(self.label.unrecognised)}",
                          "the declared lists decide: check these words against the pack")
        if vague := tuple(dict.fromkeys(_short(p.words) for p in self.every if p.unknown)):
            yield advice("label-leaves-open", self.span, f"the text alone does not settle: {_some(vague)}", "the declared lists decide")
        if self.aside:
            yield advice("label-also-names", self.span, f"the text also names {_some(tuple(self.aside))}, which no law in force declares")


def compare(label: ReadLabel, contains: Mapping[str, Span], may: Mapping[str, Span], taxonomy: Taxonomy, span: Span,
            watched: Collection[str] = ()) -> tuple[Problem, ...]:
    """Where the text and the kitchen's lists differ.  A node agrees with what stands above and below it."""
    lists = _Lists(label, contains, may, taxonomy, span, watched)
    return (*lists.undeclared(), *lists.not_in_text(), *lists.which_kind(), *lists.to_look_at())


def may_name_something(called: str, catalogue: Catalogue, taxonomy: Taxonomy, watched: Collection[str]) -> bool:
    """Whether a product's name holds any word for something that a law in force lists: most hold none, and need not be read like a label."""
    nodes = {n for entry in catalogue.inside(called) for n in (*entry.contains, *entry.depends, taxonomy.find(entry.name)) if n and n != ANY}
    nodes.update(n for run in runs(called) if (n := taxonomy.find(run)))
    return any(taxonomy.is_under(n, w) or taxonomy.is_under(w, n) for n in nodes for w in watched)


def against_name(called: str, read: ReadLabel, contains: Mapping[str, Span], may: Mapping[str, Span], taxonomy: Taxonomy, span: Span,
                 watched: Collection[str] = ()) -> tuple[Problem, ...]:
    """Where the lists of a label are at odds with what the product is called (``read``), and nothing else says what it is."""
    return tuple(_Lists(read, contains, may, taxonomy, span, watched).against_name(called))


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:59] + "…"


def _some(items: tuple[str, ...]) -> str:
    return ", ".join(f"'{_short(i)}'" for i in items[:10]) + (f" and {len(items) - 10} more" if len(items) > 10 else "")
