"""Typed access to the values of a mapping; what does not fit becomes a problem at its place."""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterator
from datetime import date
from fractions import Fraction
from typing import TypeVar

from platecard import schema
from platecard.diagnostics import Problem, Span, alarm, error, nearest, warning
from platecard.drawing import fonts
from platecard.model import Distance, Source, SourceKind
from platecard.quantities.bounds import bounds
from platecard.quantities.clock_positions import clock_degrees
from platecard.quantities.units import AmountError, Quantity, quantity, size_mm
from platecard.schema_words import as_a_day
from platecard.yaml_nodes import MAX_PROBLEMS, Mapping, Node, Scalar, Sequence, unsure

T = TypeVar("T")

# No plate is wider, nor is anything on one; larger figures would only take time to end in an error.
MAX_MM = 1000
_UNIT = "correct the figure or its unit"


class Fields:
    """Typed access to the values of one mapping; what does not fit becomes a problem."""

    def __init__(self, node: Node | None, problems: list[Problem]):
        self.node = node if isinstance(node, Mapping) else Mapping({}, {}, node.span if node else Span("", 1, 1))
        self.problems = problems

    def __contains__(self, key: str) -> bool:
        return key in self.node.entries

    def sub(self, key: str) -> Fields:
        """The mapping under ``key``; an empty one where there is none."""
        return Fields(self.node.get(key), self.problems)

    def span(self, key: str) -> Span:
        """The place of the value under ``key``, or of the whole mapping where it is missing."""
        value = self.node.get(key)
        return value.span if value is not None else self.node.span

    def written_as(self, key: str) -> str:
        """``key``, or the misspelt key in its place, which the schema has reported; empty where neither is present."""
        if key in self:
            return key
        places = {p.span for p in self.problems if p.slug == "unknown-key"}
        unknown = [k for k in self.node.entries if self.node.place(k) in places] if places else []
        return next(iter(nearest(key, unknown, 1)), "") if unknown else ""

    def text(self, key: str, default: str = "") -> str:
        """The text under ``key`` with its blanks evened out."""
        value = self.node.get(key)
        if isinstance(value, Scalar) and value.value is not None:
            return " ".join(value.text.split())
        return default

    def one_of(self, key: str, words: Container[str]) -> str:
        """One of ``words``; empty for any other, which the schema has reported."""
        text = self.text(key)
        return text if text in words else ""

    def true(self, key: str) -> bool:
        """Whether ``key`` is true; a missing key is not."""
        value = self.node.get(key)
        return isinstance(value, Scalar) and value.value is True

    def false(self, key: str) -> bool:
        """Whether ``key`` is false; a missing key is not."""
        value = self.node.get(key)
        return isinstance(value, Scalar) and value.value is False

    def whole(self, key: str, default: int) -> int:
        """A whole number; ``3.0`` is one too, as in the schema."""
        value = self.node.get(key)
        number = value.value if isinstance(value, Scalar) else None
        if not isinstance(number, (int, float)) or isinstance(number, bool) or number != int(number):
            return default
        return int(number)

    def words(self, key: str) -> tuple[str, ...]:
        """A list of words, or a single word as a list of one."""
        value = self.node.get(key)
        items = value.items if isinstance(value, Sequence) else (value,)
        return tuple(" ".join(i.text.split()) for i in items if isinstance(i, Scalar) and i.value is not None)

    def placed_words(self, key: str) -> tuple[tuple[str, Span], ...]:
        """A list of words, each with its place."""
        value = self.node.get(key)
        items = value.items if isinstance(value, Sequence) else ()
        return tuple((i.text.strip(), i.span) for i in items if isinstance(i, Scalar) and i.value is not None)

    def amount(self, key: str, *kinds: str, limit: str = "") -> Quantity | None:
        """An amount of one of ``kinds``.

        None, with an error, for what is no such amount, and for what no kitchen has (by ``limit``, or
        by its kind).
        """
        value = self.node.get(key)
        if not isinstance(value, Scalar) or value.value is None or isinstance(value.value, bool):
            return None
        try:
            q = quantity(value.text, *kinds)
        except AmountError as exc:
            self.problems.append(error(exc.slug, value.span, f"'{key}': {exc}", exc.hint, *unsure(value)))
            return None
        limit = limit or (q.kind if q.kind in ("mass", "volume", "count") else "")
        return q if not limit or self.within(key, limit, q.low, q.high) else None

    def amount_above_zero(self, key: str, *kinds: str, limit: str = "") -> Quantity | None:
        """The same for something that must be present: an amount of nothing is an error, and counts as missing."""
        q = self.amount(key, *kinds, limit=limit)
        if q is not None and q.kind != "unmeasured" and q.high <= 0:
            self.problems.append(
                error(
                    "amount-of-nothing",
                    self.span(key),
                    f"'{key}' is '{q.text}', which is nothing",
                    "weigh it, for example 0.4 g; or delete what is not used",
                )
            )
            return None
        return q

    def within(self, key: str, limit: str, low: Fraction, high: Fraction) -> bool:
        """Whether a figure is possible; one that is hardly possible passes with a warning."""
        verdict = bounds().limits[limit].verdict(low, high)
        if verdict:
            row = bounds().limits[limit]
            said = error if verdict == "refused" else warning
            self.problems.append(
                said(
                    "impossible-figure" if verdict == "refused" else "doubtful-figure",
                    self.span(key),
                    f"'{key}' is '{self.text(key)}'; {row.says}",
                    row.hint,
                )
            )
        return verdict != "refused"

    def read(self, key: str, how: Callable[[str], T]) -> T | None:
        """What ``how`` makes of the text of a value; None, with an error, where it cannot."""
        value = self.node.get(key)
        if not isinstance(value, Scalar) or value.value is None or isinstance(value.value, bool):
            return None
        try:
            return how(value.text)
        except AmountError as exc:
            self.problems.append(error(exc.slug, value.span, f"'{key}': {exc}", exc.hint))
            return None

    def mm(self, key: str) -> Fraction | None:
        """A length in mm, at most a metre; of a range the middle."""
        q = self.amount(key, "length")
        if q and q.high > MAX_MM:
            self.problems.append(error("too-large", self.span(key), f"'{key}' is more than a metre", _UNIT))
            return None
        return q.mean if q else None

    def positive_mm(self, key: str) -> Fraction | None:
        """A length in mm above zero."""
        return self._above_zero(key, self.mm(key), "zero-size", "it needs a size above zero", "write it as in 8 mm")

    def _above_zero(self, key: str, value: Fraction | None, slug: str, needs: str, hint: str) -> Fraction | None:
        if value is not None and value <= 0:
            self.problems.append(error(slug, self.span(key), f"'{key}' is zero; {needs}", hint))
            return None
        return value

    def sides(self, key: str, two: bool) -> tuple[Fraction, Fraction] | None:
        """A diameter or, with ``two``, both sides; a single size stands for two equal ones."""
        value = self.node.get(key)
        if not two:
            one = self.positive_mm(key)
            return None if one is None else (one, one)
        if not isinstance(value, Scalar) or value.value is None:
            return None
        try:
            sizes = size_mm(value.text)
        except AmountError as exc:
            self.problems.append(error("amount", value.span, f"'{key}': {exc}", exc.hint, *unsure(value)))
            return None
        if len(sizes) > 2 or any(s <= 0 for s in sizes):
            self.problems.append(
                error(
                    "zero-size" if len(sizes) < 3 else "amount",
                    value.span,
                    f"'{key}' should be two sizes above zero",
                    "write it as in 300 x 220 mm",
                )
            )
            return None
        if any(s > MAX_MM for s in sizes):
            self.problems.append(error("too-large", value.span, f"'{key}' is more than a metre", _UNIT))
            return None
        return sizes[0], sizes[-1]

    def positive_grams(self, key: str, limit: str) -> Fraction | None:
        """What one piece weighs in g: above zero, and possible for a piece by ``limit``."""
        q = self.amount(key, "mass")
        if q is None:
            return None
        mean = self._above_zero(
            key,
            q.mean,
            "zero-weight",
            "every piece weighs something",
            "weigh ten and divide, for example 0.4 g",
        )
        return mean if mean is not None and self.within(key, limit, q.low, q.high) else None

    def density(self, key: str) -> Fraction | None:
        """g per ml."""
        value = self.number(key)
        return value if value is not None and self.within(key, "density", value, value) else None

    def distance(self, key: str) -> Distance | None:
        """A distance from the centre, as a length or as a share of the well's radius."""
        q = self.amount(key, "length", "share")
        if q and q.high > (10 if q.kind == "share" else MAX_MM):
            self.problems.append(
                error("too-large", self.span(key), f"'{key}' is far beyond the edge of any plate", _UNIT)
            )
            return None
        return Distance(q.mean, q.kind == "share") if q else None

    def clock(self, key: str) -> Fraction | None:
        """A clock position in degrees."""
        value = self.node.get(key)
        return clock_of(value, self.problems) if isinstance(value, Scalar) and value.value is not None else None

    def number(self, key: str) -> Fraction | None:
        """A bare number above zero (a density)."""
        value = self.node.get(key)
        if not isinstance(value, Scalar) or value.value is None:
            return None
        text = value.text.replace("g/ml", "").strip()
        if not re.fullmatch(r"\d{1,4}(\.\d{1,9})?", text) or Fraction(text) <= 0:
            self.problems.append(
                error(
                    "amount",
                    value.span,
                    f"'{key}' is '{value.text}'; it should be a number above zero",
                    f"write {value.text.replace(',', '.')}"
                    if re.fullmatch(r"\d+,\d+", value.text)
                    else "write it as in 1.03",
                )
            )
            return None
        return Fraction(text)


def clock_of(node: Scalar, problems: list[Problem]) -> Fraction | None:
    """A clock position in degrees; None, with an error, where the text is none."""
    try:
        return clock_degrees(node.text)
    except AmountError as exc:
        problems.append(error("clock", node.span, str(exc), exc.hint))
        return None


def checked_date(fields: Fields, key: str) -> str:
    """The text of a date; an error where it is no day of the calendar, or of no year that can be meant."""
    text = fields.text(key)
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        first, last = bounds().first_year, bounds().last_year
        try:
            if not first <= date.fromisoformat(text).year <= last:
                fields.problems.append(
                    error(
                        "no-such-year",
                        fields.span(key),
                        f"{text} is too early or too late to be a date here",
                        f"correct the year: from {first} to {last}",
                    )
                )
        except ValueError:
            fields.problems.append(
                error("no-such-date", fields.span(key), f"there is no day {text} in the calendar", as_a_day(text))
            )
    return text


def source_of(f: Fields, what: str) -> Source:
    """What a component, a line or a swap is made of; ``what`` is its name in messages."""
    said = [k for k in (SourceKind.RECIPE, SourceKind.PRODUCT, SourceKind.INGREDIENT) if f.text(k)]
    if len(said) == 1:
        return Source(said[0], f.text(said[0]), f.span(said[0]))
    if len(said) > 1:
        f.problems.append(
            error("two-sources", f.node.span, f"{what} has more than one of recipe, product and ingredient", "keep one")
        )
    elif not any(p.span in (f.node.span, *f.node.keys.values()) for p in f.problems):
        f.problems.append(
            error(
                "no-source",
                f.node.span,
                f"{what} names no recipe, product or ingredient",
                schema.NO_SOURCE,
            )
        )
    # It names nothing that could be looked up, so it stays unknown.
    return Source(SourceKind.UNKNOWN, f.text(said[0]) if said else "", f.node.span)


def unprintable(node: Node) -> list[Problem]:
    """An error for every text with a character that no font here has, or that looks like another.

    A missing glyph would be a silent blank, on an allergen line too. Where a font could be installed, only the
    documents that print the text are not drawn; anything else withholds the card.
    """
    found: list[Problem] = []

    def walk(inner: Node) -> None:
        if isinstance(inner, Mapping):
            for value in inner.entries.values():
                walk(value)
        elif isinstance(inner, Sequence):
            for value in inner.items:
                walk(value)
        elif len(found) < MAX_PROBLEMS and inner.text and not inner.text.isascii():
            found.extend(_of_letters(inner.text.replace("\n", " "), inner.span))

    walk(node)
    return found


def _of_letters(text: str, span: Span) -> Iterator[Problem]:
    is_of_others = fonts.needs_shaping(text)
    if is_of_others and (lacking := fonts.hopeless(text)):
        yield error(
            "unprintable-character",
            span,
            f"the card's font has no {', '.join(fonts.name(c) for c in lacking[:3])}",
            "write it in Latin letters",
        )
    if is_of_others and (scripts := fonts.uninstalled(text)):
        yield alarm(
            "font-not-installed",
            span,
            f"no font for {' and '.join(scripts)} is installed: a document that prints this is not drawn",
            f"install the fonts: {fonts.INSTALLED_BY}",
            "or write it in Latin, Greek or Cyrillic letters",
        )
    if mixed := fonts.of_two_alphabets(text):
        yield error(
            "two-alphabets",
            span,
            f"'{mixed}' has letters of two alphabets, so it is not the word that it looks like:"
            f" {', '.join(fonts.name(f'U+{ord(c):04X}') for c in fonts.further_letters(mixed)[:3])}",
            "type the word anew in one alphabet",
        )


def spelt_out(node: Node) -> Node:
    """The node with every character that no font has, installed or not, written as its number.

    Whatever is drawn of it, on other dishes' cards too, then shows that the character is there.
    """
    if isinstance(node, Mapping):
        return node._replace(entries={key: spelt_out(value) for key, value in node.entries.items()})
    if isinstance(node, Sequence):
        return node._replace(items=tuple(map(spelt_out, node.items)))
    if node.text.isascii():
        return node
    text = "\n".join(fonts.spelt_out(line, fonts.hopeless) for line in node.text.split("\n"))
    return node._replace(text=text, value=text if isinstance(node.value, str) else node.value)
