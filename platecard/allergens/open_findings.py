"""Problems for what a law asks for and cannot be established, with what stands in the way."""

from __future__ import annotations

from collections.abc import Iterable

from platecard.allergens import statement, traces
from platecard.allergens.statement import Statement
from platecard.diagnostics import BECAUSE, Problem, error, warning
from platecard.model import Dish


def not_established(law: Statement, dish: Dish) -> Problem:
    """The error for what a law asks for and cannot be established, with what prevents it."""
    names, remedies = _open(law, required=True)
    return error("allergens-not-established", dish.span, f"{law.law.name}: not established: {names}", *remedies)


def not_required(law: Statement, dish: Dish) -> Problem:
    """The warning for what cannot be established and the law does not require to be named: the card tells it."""
    names, remedies = _open(law, required=False)
    said = f"{law.law.name}: not established, and named only as a recommendation: {names}"
    return warning("recommended-not-established", dish.span, said, *remedies)


def _open(law: Statement, required: bool) -> tuple[str, tuple[str, ...]]:
    """What the dish itself leaves open of what the law requires, or of the rest; with what is in the way."""
    found = law.open_in_itself(required)
    causes = dict.fromkeys(" > ".join(link.words for link in chain) for f in found for chain in f.reasons)
    # What a maker may leave off a label is settled by asking the maker, not by reading the label again.
    asked = any("need not name" in cause for cause in causes)
    return _listed(f.declared_as for f in found), (
        *(BECAUSE + cause for cause in list(causes)[:3]),
        "ask the maker; if nothing else is in it, write the day under the label: maker_asked: 2026-10-12"
        if asked
        else _KIND
        if any("the label says it contains" in cause for cause in causes)
        else "name each ingredient exactly, or enter it as a product with its label",
    )


_KIND = "write the kind itself: under contains: of the label, or as the name of the ingredient"


def open_kinds(dish: Dish, statements: tuple[Statement, ...]) -> list[Problem]:
    """A warning for each group of which a law asks the kind, where no ingredient says it."""
    return [
        warning(
            "kind-not-established",
            dish.span,
            f"{law.law.name} asks which kind of {f.declared_as} it is, but no ingredient says",
            *(f"{BECAUSE}{c[-1].words}" for c in f.reasons[:2]),
            _KIND,
        )
        for law in statements
        for f in law.findings
        if f.kind_open
    ]


def over_equipment(dish: Dish, statements: tuple[Statement, ...]) -> list[Problem]:
    """A warning for each source over shared equipment that leaves allergens open; the card says so and is drawn."""
    found: dict[str, list[statement.Finding]] = {}
    for law in statements:
        for f in law.with_presence(traces.UNKNOWN):
            if not f.is_own:
                found.setdefault(f.over, []).append(f)
    everything = len(found) == 1 and all(law.all_open for law in statements)
    problems = []
    for over, same in found.items():
        named = "any other allergen" if everything else _listed(f.declared_as for f in same)
        problems.append(
            warning(
                "open-over-equipment",
                dish.span,
                f"not established over shared equipment: {named}, from the {over}",
                BECAUSE + " > ".join(link.words for link in same[0].reasons[0][1:]),
                "settle that, or give this dish equipment of its own; until then the answer to a guest is: not"
                " established",
            )
        )
    return problems


def _listed(words: Iterable[str]) -> str:
    names = list(dict.fromkeys(words))
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
