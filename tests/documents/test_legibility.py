"""How large each text of a card is seen, by what it is for.

The measure is the angle of a capital in minutes of arc: 16 is the usual least, 14 the least of all (both read
second-hand, of ISO 9241-303).  Whatever is pass or fail is read from 60 cm, at a rail at eye height; all else from
40 cm, by a cook who builds the plate or a manager who holds the card.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from platecard import fingerprint
from platecard.documents.diagram import plate as plate_drawing
from platecard.documents.diagram import side_view
from platecard.documents.kit.sheet import GREY, INK, PAGES, SHEETS
from platecard.documents.pages import pass_card
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Text
from tests.documents.test_card_words import menu
from tests.documents.test_pass_card import NAMES, card

__all__ = ["menu"]  # a fixture: all dishes of the demo kitchen

RAIL_CM, HAND_CM = 60.0, 40.0
USUAL, LEAST = 16.0, 14.0
_NEAR = 0.15  # minutes: the sizes are rounded to half points


def minutes(text: Text, cm: float) -> float:
    return 60 * math.degrees(math.atan(fonts.cap_height(text.size_pt, text.face) / (10 * cm)))


def texts(items, within: tuple[str, ...] = ()) -> Iterator[tuple[Text, tuple[str, ...]]]:
    """Every text as it is printed, with the groups that hold it, by id or title."""
    for item in items:
        if isinstance(item, Text):
            yield item, within
        elif isinstance(item, Group):
            yield from texts(item.items, (*within, item.id or item.title))


def is_pass_or_fail(text: Text, within: tuple[str, ...]) -> bool:
    """Names, counts and leeway beside the plate, and the checks."""
    return text.colour != GREY and ("Expo checks" in within or "callouts" in within and not text.text.isdigit())


def declared(items, one) -> list[Text]:
    """The lines that name what a law declares as contained."""
    first = {f.declared_as.split()[0] for s in one.statements for f in s.with_presence("contains")}
    lines = [t for t, within in texts(items) if "Allergens" in within and t.face == "bold" and t.colour == INK]
    found = [t for t in lines if first & set(t.text.replace(",", "").split())]
    assert first <= {word for t in found for word in t.text.replace(",", "").split()}, "each is in bold on the front"
    return found


def front_and_back(one) -> tuple[list[Item], list[Item], float]:
    front, back = pass_card.compose(
        one,
        plate_drawing.number_of(one.dish),
        fingerprint.of(one),
        side=lambda width, height: side_view.draw(one.arrangement, one.dish, room=(width, height)),
    )
    return list(front.items), list(back.items), front.width_mm


def test_every_text_of_every_demo_card_is_large_enough_for_what_it_is_for(menu):
    for key, one in menu.items():
        front, back, width = front_and_back(one)
        is_large = width > PAGES["A5 landscape"][0] + 1
        least = USUAL if is_large or len(one.dish.components) <= 8 else LEAST
        told = [t for t, within in texts(front) if is_pass_or_fail(t, within)]
        said = " ".join(t.text for t in told)
        for component in one.dish.components:
            assert component.called.split()[0] in said, (key, component.called)
        for check in one.dish.expo_checks:
            assert check.split()[0] in said, (key, check)
        for text in (*told, *declared(front, one)):
            assert minutes(text, RAIL_CM) >= least - _NEAR, (key, text)
            # Printed at half size it is seen in the hand as large as before at the rail.
            assert minutes(text, RAIL_CM) == pytest.approx(minutes(text, RAIL_CM / 2) / 2, rel=1e-3)
        for text, _ in (*texts(front), *texts(back)):
            assert text.size_pt >= 8.0 - 1e-9, (key, text)
            assert minutes(text, HAND_CM) >= USUAL - _NEAR, (key, text)


@pytest.mark.parametrize("page", sorted(PAGES))
@pytest.mark.parametrize(
    "count, laws",
    [(1, "[eu]"), (8, "[eu, us]"), (14, "[eu, us, ca]"), (20, "[eu, uk, us, ca, au-nz, jp, codex, ch, kr, sg, hk]")],
)
def test_the_same_holds_for_1_to_20_parts_the_longest_names_and_up_to_11_laws(page, count, laws):
    one, (front, back) = card(count, list(NAMES), page, laws)
    assert (front.width_mm, front.height_mm) in SHEETS.values()
    is_large = (front.width_mm, front.height_mm) != PAGES["A5 landscape"]
    least = USUAL if is_large or count <= 8 else LEAST
    told = [t for t, within in texts(front.items) if is_pass_or_fail(t, within)]
    assert len({t.text for t in told}) > 3
    for text in told:
        assert minutes(text, RAIL_CM) >= least - _NEAR, text
    for text, _ in (*texts(front.items), *texts(back.items)):
        assert minutes(text, HAND_CM) >= USUAL - _NEAR, text
    is_small = any(minutes(text, RAIL_CM) < USUAL - _NEAR for text in told)
    assert is_small == any(f"{count} parts: better on A4" in text.text for text, _ in texts(front.items))


def test_a_dense_card_on_small_paper_says_that_larger_paper_is_better():
    one, (front, _) = card(9, [f"part {i}" for i in range(9)], "A5 landscape", "[eu, us]")
    assert front.width_mm == PAGES["A5 landscape"][0]
    told = [t for t, within in texts(front.items) if is_pass_or_fail(t, within)]
    assert LEAST - _NEAR <= min(minutes(t, RAIL_CM) for t in told) < USUAL - _NEAR
    assert [t.text for t, _ in texts(front.items) if t.text.endswith("9 parts: better on A4")]
