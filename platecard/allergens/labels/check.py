"""What a label's text and the kitchen's lists leave open, and where they and the product's names disagree.

A list that the kitchen wrote down must agree with the text; one that it left out is taken
from the text.  A word that could not be read leaves the whole product open, and so does a food
that hardly ever comes without an allergen and does not say what it is made of.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from platecard.allergens.labels.matching import Matcher
from platecard.allergens.labels.parts import CLAIM, SAID, Part, ReadLabel
from platecard.allergens.labels.vocabulary import Words, words
from platecard.diagnostics import Problem, Span, error, warning
from platecard.knowledge.catalogue import Catalogue
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.names import fold, runs
from platecard.knowledge.taxonomy import Taxonomy

MAX_TOLD = 8


class Stated(NamedTuple):
    """What the kitchen wrote down of a label: its lists as node → place, None for a list that it left out."""

    contains: Mapping[str, Span] | None = None
    may: Mapping[str, Span] | None = None
    read_whole: bool = False

    @property
    def nodes(self) -> tuple[str, ...]:
        """All nodes of the two lists."""
        return (*(self.contains or ()), *(self.may or ()))


class OpenPart(NamedTuple):
    """What a label leaves open: a part of its text, and the nodes that it may be (``any``: all of them)."""

    words: str
    place: Span
    nodes: tuple[str, ...]


class Silent(NamedTuple):
    """What a label need not name under the law it was printed for, so that its silence settles nothing.

    ``form`` is the form in which that law lets the maker leave out ``node``; "" where it does not
    list the node at all.  ``is_open``: some law in force does not exempt that form outright.
    """

    node: str
    form: str = ""
    is_open: bool = True


# --------------------------------------------------------------------------- what stays open


def open_parts(
    label: ReadLabel, stated: Stated, catalogue: Catalogue, taxonomy: Taxonomy, span: Span
) -> tuple[OpenPart, ...]:
    """The parts of a text that hardly ever come without an allergen, name none, and are answered by no list.

    A collective word that the maker is allowed to print (spices, flavouring) does not count: the law
    makes the maker name the allergens in it.
    """
    if stated.read_whole:
        return ()
    known = words()[0]
    found = (
        (part, _unanswered(part, stated, catalogue, taxonomy, known))
        for part in label.all()
        if not _names_what_is_there(part, label, taxonomy)
    )
    return tuple(OpenPart(part.words, part.place or span, nodes) for part, nodes in found if nodes)


def _unanswered(part: Part, stated: Stated, catalogue: Catalogue, taxonomy: Taxonomy, known: Words) -> tuple[str, ...]:
    def counts(node: str) -> bool:
        return node not in known.limited and not any(taxonomy.is_under(node, root) for root in known.seldom)

    if part.how == CLAIM or not part.unknown:
        return ()
    entries = [e for id in part.entries if (e := catalogue.by_id(id)) is not None]
    unknown = tuple(n for n in part.unknown if n == ANY or (counts(n) and not any(e.form_of(n) for e in entries)))
    if not unknown or any(counts(n) for n in (*part.nodes, *part.may)):
        return ()
    if entries and all(fold(e.name) in known.collective or _file(e.span) in known.collective_files for e in entries):
        return ()
    likely = [n for n in unknown if n != ANY] + [n for e in entries for n in e.look_for]
    return (
        () if any(taxonomy.is_under(a, b) or taxonomy.is_under(b, a) for a in likely for b in stated.nodes) else unknown
    )


def _names_what_is_there(part: Part, label: ReadLabel, taxonomy: Taxonomy) -> bool:
    """Whether a sentence beside the list names only what the list has too."""
    return part.how == SAID and all(
        any(taxonomy.is_under(n, c) or taxonomy.is_under(c, n) for c in label.contains) for n in part.unknown
    )


def _file(span: Span) -> str:
    return span.file.rsplit("/", 1)[-1].split(".")[0]


def may_hold(label: ReadLabel, node: str, taxonomy: Taxonomy) -> bool:
    """Whether some part of a text may hold ``node`` without naming it: a collective word can mean anything."""
    return bool(label.unread) or any(
        n == ANY or taxonomy.is_under(node, n) or taxonomy.is_under(n, node)
        for part in label.all()
        if part.how != CLAIM
        for n in part.unknown
    )


# --------------------------------------------------------------------------- words that mean nothing


def means_something(
    given: Iterable[tuple[str, Span]], text: str, catalogue: Catalogue, taxonomy: Taxonomy
) -> tuple[Problem, ...]:
    """Words that the chef says mean nothing, but that name a food after all or do not occur in the text."""
    match, found = Matcher(catalogue, taxonomy), []
    for word, place in given:
        read = match.segments(word)
        near = tuple(n for w in read.left for n in match.compounds.near(w))
        if read.names or read.nodes or near:
            named = ", ".join(read.names or dict.fromkeys(taxonomy.name(n) for n in (*read.nodes, *near)))
            found.append(
                error(
                    "means-something",
                    place,
                    f"'{word}' cannot stand under means_nothing: it names or resembles {named}",
                    "take it out; if the label's lists hold everything in the product, write read_whole: true instead",
                    "or correct the word in the text, if it is misspelt there",
                )
            )
        elif f" {fold(word)} " not in f" {fold(text)} ":
            found.append(warning("means-nothing-unused", place, f"'{word}' is not in the label's text", "take it out"))
    return tuple(found)


# --------------------------------------------------------------------------- the text against the lists


class _Lists:
    """The kitchen's lists as node → place, with the questions asked of them.

    ``watched`` are the nodes that the laws in force list.  A list that was left out is what the text says.
    """

    def __init__(self, label: ReadLabel, stated: Stated, taxonomy: Taxonomy, span: Span, watched: Collection[str]):
        self.label, self.stated, self.taxonomy, self.span, self.watched = label, stated, taxonomy, span, watched
        self.contains = dict.fromkeys(label.contains, span) if stated.contains is None else stated.contains
        self.may = dict.fromkeys(label.may_contain, span) if stated.may is None else stated.may
        self.words = words()[0]
        self.every = tuple(label.all())

    def name(self, node: str) -> str:
        return self.taxonomy.name(node)

    def related(self, node: str, others: Iterable[str]) -> bool:
        """Whether ``node`` is one of ``others``, or above or below one of them."""
        return any(self.taxonomy.is_under(node, o) or self.taxonomy.is_under(o, node) for o in others)

    def quiet(self, node: str) -> bool:
        """Whether no law in force lists ``node``, and labels seldom declare it."""
        return node not in self.watched and any(self.taxonomy.is_under(node, root) for root in self.words.seldom)

    def undeclared(self) -> Iterable[Problem]:
        """Nodes of the text that the kitchen's lists lack."""
        for node in self.label.contains:
            if self.related(node, self.contains) or self.quiet(node):
                continue
            holders = [p for p in self.every if node in p.nodes]
            place, said = (
                holders[0].place or self.span,
                f"the text says '{_short(holders[0].words)}', but {self.name(node)} is not in contains",
            )
            if node in self.words.limited and not any(self._named(p, node) for p in holders):
                yield warning(
                    "label-below-limit",
                    place,
                    said,
                    "this is right if the level on the label is below the limit: enter that level",
                )
            elif all(node in dict(p.forms) for p in holders):
                yield warning(
                    "label-exempt-form",
                    place,
                    f"{said}; it is there as {dict(holders[0].forms)[node].replace('_', ' ')}",
                    "some laws exempt this form; declare it for all others",
                )
            else:
                yield error(
                    "label-undeclared",
                    place,
                    said + (", only in may_contain" if self.related(node, self.may) else ""),
                    f"add {self.name(node)} to contains, or correct the text",
                )
        for part in self.every:
            for node in part.may if part.how == SAID else ():
                if not (self.related(node, self.contains) or self.related(node, self.may) or self.quiet(node)):
                    yield error(
                        "label-undeclared",
                        part.place or self.span,
                        f"the text says '{_short(part.words)}', but {self.name(node)} is not in may_contain",
                        f"add {self.name(node)} to may_contain, or correct the text",
                    )

    def _named(self, part: Part, node: str) -> bool:
        return any(f" {w} " in f" {fold(part.words)} " for w in self.words.limited[node])

    def words_in(self, called: str) -> Iterable[str]:
        """The allergens that a product's name suggests.

        They are what composed names are made of (quiche, satay) and, where much is left open, the
        allergens that one or two words of the name name: the walnut of a walnut bread, but not the milk
        of a coconut milk.
        """
        for run in runs(called, 3):
            yield from self.words.named_after.get(run, ())
        if ANY in self.label.open:
            yield from (node for run in runs(called, 2) if (node := self.taxonomy.find(run)))

    def against_name(self, called: str) -> Iterable[tuple[str, Problem]]:
        """Nodes of the product's name that the kitchen's lists lack.

        What some laws exempt or limit may rightly be missing there.
        """
        for node in dict.fromkeys((*self.label.contains, *self.words_in(called))):
            holders = [p for p in self.every if node in p.nodes]
            is_exempt = bool(holders) and all(node in dict(p.forms) for p in holders)
            # A list is written for the laws in force, so what they do not list is rightly missing from it.
            if (
                self.related(node, self.contains)
                or not self.related(node, self.watched)
                or node in self.words.limited
                or is_exempt
            ):
                continue
            only = ", only in may_contain" if self.related(node, self.may) else ""
            yield (
                node,
                error(
                    "label-against-name",
                    self.span,
                    f"'{called}' sounds like {self.name(node)}, which is not in contains{only}",
                    f"add {self.name(node)} to contains; if the product does not contain it, copy the label's whole"
                    " text, which decides",
                ),
            )

    def not_in_text(self) -> Iterable[Problem]:
        """Declared nodes that the text does not name; what it leaves open may be them."""
        if self.stated.read_whole:
            return
        for listed, nodes in (("contains", self.stated.contains), ("may_contain", self.stated.may)):
            for node, place in (nodes or {}).items():
                is_open = listed == "contains" and (ANY in self.label.open or self.related(node, self.label.open))
                if is_open or self.related(node, (*self.label.contains, *self.label.may_contain)):
                    continue
                said = f"{self.name(node)} is in {listed}, but not in the text"
                if self.label.unrecognised:
                    yield warning(
                        "label-not-in-text", place, said, "it may be one of the words that were not recognised"
                    )
                else:
                    yield error(
                        "label-not-in-text",
                        place,
                        said,
                        "copy the whole text, its 'contains' statement too, or correct the list",
                    )

    def which_kind(self) -> Iterable[Problem]:
        """A group that some laws want named kind by kind, where the list names no kind."""
        for group in self.words.kinds_wanted:
            kinds = [n for n in self.taxonomy.below(group) if n != group]
            if group in (*self.contains, *self.label.contains) and not any(n in self.contains for n in kinds):
                named = [self.name(n) for n in kinds if n in self.label.contains]
                yield warning(
                    "label-which-kind",
                    self.contains.get(group, self.span),
                    f"'{self.name(group)}' does not say which kind",
                    (
                        f"the text names {', '.join(named)}: enter that"
                        if named
                        else "ask the supplier, and enter the kind"
                    ),
                )

    def emphasised(self) -> Iterable[Problem]:
        """Parts that the label stresses although no allergen is known in them: to be checked against the pack."""
        for part in self.every:
            if (
                part.emphasised
                and part.how not in (SAID, CLAIM)
                and not any(not self.quiet(n) for p in part.all() for n in (*p.nodes, *p.may))
            ):
                yield warning(
                    "label-emphasis",
                    part.place or self.span,
                    f"the label emphasises '{_short(part.words)}', but no allergen is known in it",
                    "check it against the pack",
                )

    def unread(self) -> Iterable[Problem]:
        """The words of the text that could not be read, each at its place."""
        if self.stated.read_whole:
            return
        for unread in self.label.unread[:MAX_TOLD]:
            near = " or ".join(self.name(n) for n in unread.near)
            yield error(
                "label-words-not-recognised",
                unread.place,
                f"'{_short(unread.word)}' in the label's text is not understood, so the product's allergens are not"
                " established",
                (
                    f"it may be {near}: write the word as the pack has it"
                    if near
                    else f"if it names no food, write under the label {settling(self.label)}"
                ),
                "or list everything in the product under contains, and write read_whole: true",
            )
        if len(self.label.unread) > MAX_TOLD:
            yield error(
                "label-words-not-recognised",
                self.span,
                f"{len(self.label.unread) - MAX_TOLD} more words of the label's text are not understood",
                "see them all with platecard label",
            )

    def leaves_open(self, parts: Iterable[OpenPart]) -> Iterable[Problem]:
        """An error for each part that leaves open what it is made of."""
        for part in parts:
            said = " or ".join(self.name(n) for n in part.nodes if n != ANY)
            yield error(
                "label-leaves-open",
                part.place,
                f"'{_short(part.words)}' does not say what it is made of" + (f": {said}?" if said else ""),
                "copy the brackets after it, or list what is in it under contains",
                "or, if the label's lists hold everything in the product, write read_whole: true under the label",
            )


def settling(label: ReadLabel) -> str:
    """The line that settles a label's unread words that resemble no food; empty where there are none."""
    found = [_quoted(u.word) for u in label.unread if not u.near]
    return f"means_nothing: [{', '.join(found)}]" if found else ""


def _quoted(word: str) -> str:
    plain = word.replace("-", "").isalpha() and fold(word) not in (
        "no",
        "yes",
        "on",
        "off",
        "true",
        "false",
        "null",
        "y",
        "n",
    )
    return word if plain else '"' + word.replace("\\", "\\\\").replace('"', '\\"') + '"'


def compare(
    label: ReadLabel,
    stated: Stated,
    taxonomy: Taxonomy,
    span: Span,
    watched: Collection[str] = (),
    parts: Iterable[OpenPart] = (),
) -> tuple[Problem, ...]:
    """Where the text and the kitchen's lists differ, and what stays open (``parts``).

    A node agrees with the nodes above and below it.
    """
    lists = _Lists(label, stated, taxonomy, span, watched)
    return (
        *lists.undeclared(),
        *lists.not_in_text(),
        *lists.which_kind(),
        *lists.emphasised(),
        *lists.unread(),
        *lists.leaves_open(parts),
    )


# --------------------------------------------------------------------------- the names against the lists


def may_name_something(called: str, catalogue: Catalogue, taxonomy: Taxonomy, watched: Collection[str]) -> bool:
    """Whether a product's name holds any word for something that a law in force lists.

    Most hold none, and need not be read like a label.
    """
    known = words()[0]
    nodes = {
        n
        for entry in catalogue.inside(called)
        for n in (*entry.contains, *entry.depends, taxonomy.find(entry.name))
        if n and n != ANY
    }
    for run in runs(called):
        nodes.update(n for n in (taxonomy.find(run), *known.named_after.get(run, ())) if n)
        if run in known.foods:
            return True
    # An unknown word may be several words run together.
    unknown = any(len(w) >= 6 and not catalogue.has_word(w) for w in fold(called).split())
    return unknown or any(taxonomy.is_under(n, w) or taxonomy.is_under(w, n) for n in nodes for w in watched)


def against_name(
    called: str, read: ReadLabel, stated: Stated, taxonomy: Taxonomy, span: Span, watched: Collection[str] = ()
) -> tuple[tuple[str, Problem], ...]:
    """Where the lists of a label contradict what the product is called (``read``): each node, with its problem."""
    return tuple(_Lists(read, stated, taxonomy, span, watched).against_name(called))


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:59] + "…"
