"""Claims of absence, or for a diet, in the words a chef writes: an error wherever they appear.

A card is derived from what was entered, and nothing derived supports such a claim.  What a maker
calls a product remains allowed in the pantry, and in the methods and lines of recipes, whose
sheets print it as the maker's words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from platecard.diagnostics import Problem, error
from platecard.knowledge import claims
from platecard.knowledge.names import fold
from platecard.model import Kitchen, SourceKind, Written
from platecard.reading.written import place

# Texts that a guest reads as the name of a food: in a name, "flourless" says as much as "without wheat".
AS_NAMES = frozenset(("dish", "menu_line", "called", "recipe"))


def check(words: Iterable[Written], sources: Mapping[str, str], makers: tuple[str, ...] = ()) -> tuple[Problem, ...]:
    """An error for each claim, at the place of its words in ``sources`` (file → text).

    ``makers`` are the names of products that claim something: in a recipe's method, and in notes,
    they say which product to take.
    """
    found: list[Problem] = []
    for written in words:
        for claim in claims.find(written.text, written.key in AS_NAMES):
            if written.owner and written.key in ("method", "note") and _names_a_product(written.text, claim, makers):
                continue
            found.append(_problem(claim, written, sources.get(written.span.file, ""), makers))
    return tuple(found)


def makers_names(kitchen: Kitchen) -> tuple[str, ...]:
    """The names of the kitchen's products that claim something, as their makers call them and as recipes do."""
    names = (n for p in kitchen.products.values() for n in (p.called, p.key.replace("-", " "), *p.also))
    lines = (x.source.name for r in kitchen.recipes.values() for x in r.lines if x.source.kind == SourceKind.INGREDIENT)
    return tuple(dict.fromkeys(n for n in (*names, *lines) if claims.without(n) != n))


def _names_a_product(text: str, claim: claims.Claim, makers: tuple[str, ...]) -> bool:
    """Whether the claim is part of a product's name, and the whole of that name is in the text."""
    around = f" {fold(text)} "
    return any(f" {fold(name)} " in around and fold(claim.words) in fold(name) for name in makers)


def _problem(claim: claims.Claim, written: Written, source: str, makers: tuple[str, ...]) -> Problem:
    said = "is a claim for a diet or a condition" if claim.is_diet else "says that something is not in it"
    hints = ["take it out: what is in a dish is derived, and printed with its reasons"]
    if claim.is_diet:
        hints.append("to answer a guest, ask platecard guest, dish by dish")
    product = next((n for n in makers if fold(claim.words) in fold(n)), "")
    if product:
        hints.append(
            f"call the product '{claims.shown(product)}' here; "
            "recipe sheets and the order list give its maker's words in full"
        )
    return error(
        "claims-absence",
        place(written, claim.start, claim.end, source),
        f"'{claim.words}' {said}, and no recipe can support that",
        *hints,
    )
