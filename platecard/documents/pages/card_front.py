"""The front of a pass card, for expo: the plate with its parts named beside it, the checks, the allergens.

In: a prepared dish and the area of the page.  Out: items, or None if it does not fit, so that
the card can be drawn on larger paper.  Type never shrinks below what can be read at 60 cm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from platecard.allergens.statement import Statement, union
from platecard.documents.diagram import acceptance, callouts, face_signs, frame, labels, leader_lines, plate
from platecard.documents.diagram.leader_lines import LeaderEnd
from platecard.documents.kit import allergen_block, checklist, part_labels
from platecard.documents.kit.allergen_block import Declaration
from platecard.documents.kit.part_labels import ALL_SEEN, UNCHANGED, Changed, Unseen, unseen
from platecard.documents.kit.sheet import INK, Block
from platecard.drawing.extent import bounds
from platecard.drawing.scene import About, Circle, Group, Item, Placing, Polygon, Rect, Scene, Style, Text
from platecard.layout import plate_geometry
from platecard.layout.footprint import Arrangement
from platecard.layout.geometry2d import Point, to_segment
from platecard.model import Dish, Step
from platecard.prepared import Prepared

Picture = Callable[[Mapping[str, str], float | None], Scene]
"""Draws the plate from above: with these callouts, and sized for a paper on which so many mm of it are one mm."""

GAP = 3.0  # mm between columns
# Points of names and of the words below them, the largest first.  A capital of 11.5 pt subtends 16 minutes of arc at
# 60 cm, one of 10 pt 14 minutes: the usual and the least height of ISO 9241-303.
LARGE_PAPER = ((17.0, 14.0), (15.5, 13.0), (14.0, 12.0), (13.0, 11.5), (11.5, 11.5))
SMALL_PAPER = ((12.5, 11.5), (11.5, 11.5))
MANY_PARTS, DENSE = 8, ((11.0, 10.0), (10.0, 10.0))  # on small paper with more parts than this
LEAST_PLATE_MM = {False: 60.0, True: 100.0}  # how wide the plate is at least, on small and on large paper
LAWS_SIDE_BY_SIDE = 2
_LONG_WORD_MM = 52.0  # a column is never made wider than this for the sake of one word
_IN_FULL = 1.12  # what the whole declaration on the front is worth, in shares of the plate's size
_BETWEEN, _ABOVE = 0.5, 0.6  # of the page's width: the plate between two columns, and above the allergens, at most
_PLATES = (1.0, 0.93, 0.86, 0.8, 0.74, 0.68, 0.62)  # shares of the widest plate that are tried
_END = Style(fill=INK, stroke="#ffffff", width=0.25)
_BED, _LINE = Style(stroke="#ffffff", width=0.9), Style(stroke=INK, width=0.3)


class Front(NamedTuple):
    """The items of the front, at which scale the plate is drawn, and whether it declares the allergens in full.

    ``is_dense``: it has so many parts that they are named in the smaller type, which larger paper would not need.
    """

    items: tuple[Item, ...]
    scale: float
    is_declared_in_full: bool
    is_dense: bool


class _Food(NamedTuple):
    """What does not depend on the paper: where lines may end, what they should not cross, what lies underneath."""

    ends: dict[str, list[LeaderEnd]]
    solids: list[leader_lines.Solid]
    hidden: dict[str, Unseen]


class _Labels(NamedTuple):
    """Makes the label of each part, in one pair of type sizes."""

    dish: Dish
    steps: Mapping[str, list[Step]]
    numbers: Mapping[str, str]
    sizes_pt: tuple[float, float]
    common: str
    hidden: dict[str, Unseen]
    changed: Changed
    made: dict[tuple[str, float], tuple[Block, tuple[labels.Size, labels.Size]]]  # those made so far, by key and width

    @property
    def least_mm(self) -> float:
        """How wide a column has to be so that no word of a label is broken, unless it is a very long one."""
        return min(
            _LONG_WORD_MM,
            max(
                (
                    part_labels.widest_word_mm(steps, self.dish, self.sizes_pt, self.common, self.changed)
                    for steps in self.steps.values()
                ),
                default=0.0,
            ),
        )

    def of(self, key: str, width: float) -> tuple[Block, tuple[labels.Size, labels.Size]]:
        """The label of one part, ``width`` mm wide, and its size on either side of the plate."""
        if (key, width) not in self.made:
            self.made[key, width] = part_labels.label(
                self.steps[key],
                self.dish,
                self.numbers[key],
                width,
                self.sizes_pt,
                self.common,
                self.hidden.get(key, ALL_SEEN),
                self.changed,
            )
        return self.made[key, width]


class _Plan(NamedTuple):
    """One way to fill the page: the plate's width, the columns of labels, and where the rest stands."""

    plate_mm: float
    middle: tuple[float, float]
    columns: tuple[labels.Column, labels.Column]
    widths: tuple[float, float]
    lefts: tuple[float, float]
    checks: tuple[Block, float, float]
    declared: tuple[Block, float, float]
    is_in_full: bool

    @property
    def worth(self) -> float:
        """How large the plate is; the whole declaration on the front is worth a little of it, not much."""
        return round(self.plate_mm * (_IN_FULL if self.is_in_full else 1.0), 1)


def compose(
    prepared: Prepared,
    dish: Dish,
    arrangement: Arrangement,
    numbers: dict[str, str],
    area: tuple[float, float, float, float],
    picture: Picture,
    unknown: tuple[str, ...] = (),
    changed: Changed = UNCHANGED,
    known: plate.Food | None = None,
) -> Front | None:
    """The front within ``area`` (x, y, width, height in mm), or None if it has no room there.

    ``dish`` and ``arrangement`` have everything that is named beside the plate, also what a changed plate leaves off.
    ``unknown`` says in words what is not established, in a draft; ``known`` is the food of ``arrangement``, if it has
    been looked at already.
    """
    steps = part_labels.steps_of(dish, numbers)
    is_large = max(area[2], area[3]) > 220.0
    sizes = LARGE_PAPER if is_large else SMALL_PAPER + (DENSE if len(steps) > MANY_PARTS else ())
    later = dish.at_table
    food = _food(arrangement, steps, later, known)
    common = part_labels.said_once(dish)
    allergens = _allergens(prepared, unknown)
    for pair in sizes:
        named = _Labels(dish, steps, numbers, pair, common, food.hidden, changed, {})
        # Larger type is worth a smaller plate only as long as the plate stays well above the least.
        least = LEAST_PLATE_MM[is_large] * (1.0 if pair == sizes[-1] else 1.12)
        narrowest = named.least_mm
        page = _Page(area, plate_geometry.rim(arrangement.plate), prepared.dish or dish, pair[1], common, allergens)
        widest = page.widest_mm
        best: tuple[_Plan, dict[str, labels.Spot]] | None = None
        for share in _PLATES:
            if best is not None and best[0].worth >= share * widest * _IN_FULL:
                break  # what follows has smaller plates still
            for plan in _plans(page, share, least):
                if min(plan.widths) < narrowest or (best is not None and plan.worth < best[0].worth):
                    continue
                spots = _spots(plan, named, food, arrangement)
                if spots is None:
                    continue
                if best is None or (plan.worth, -labels.length(spots)) > (best[0].worth, -labels.length(best[1])):
                    best = plan, spots
        if best is not None:
            return _drawn(*best, named, food, arrangement, picture)
    return None


# --- what the food asks for ------------------------------------------------------------------------------------------


def _food(
    arrangement: Arrangement, steps: Mapping[str, object], later: frozenset[int], known: plate.Food | None
) -> _Food:
    cover = known.cover if known else face_signs.Cover(arrangement.footprints, later)
    there = {f.component for f in arrangement.footprints}
    hidden = unseen(known.hidden if known else face_signs.hidden(cover, later))
    ends = {key: callouts.ends_of(cover, key) for key in steps if key in there}
    return _Food(ends, leader_lines.solid(arrangement.footprints, later), hidden)


def _spots(
    plan: _Plan,
    named: _Labels,
    food: _Food,
    arrangement: Arrangement,
) -> dict[str, labels.Spot] | None:
    """The places of all labels on one plan, or None."""
    k, (cx, cy) = _scale(plan, arrangement), plan.middle
    left, right = plan.widths
    sizes = {key: (named.of(key, left)[1][0], named.of(key, right)[1][1]) for key in named.steps}
    if not labels.may_fit(sizes, plan.columns):
        return None
    ends = {
        key: [LeaderEnd((cx + e.point[0] * k, cy + e.point[1] * k), e.cost * k, e.size * k) for e in food.ends[key]]
        for key in named.steps
        if key in food.ends
    }
    # A part with nothing to point at is named all the same; its label has no line.
    ends |= {key: [LeaderEnd((cx, cy), 0.0, 0.0)] for key in named.steps if key not in ends}
    solids = [(c, cx + x * k, cy + y * k, a * k * k, b * k * k, n) for c, x, y, a, b, n in food.solids]
    return labels.place(ends, sizes, plan.columns, solids)


def _scale(plan: _Plan, arrangement: Arrangement) -> float:
    return min(plan.plate_mm / (2 * plate_geometry.rim(arrangement.plate).a), 1.0)


# --- ways to fill the page -------------------------------------------------------------------------------------------


def declarations(prepared: Prepared) -> tuple[Statement, ...]:
    """The statements to print: law by law, or one for all laws together, as the kitchen has chosen."""
    if prepared.world.kitchen.settings.card_allergens == "union" and len(prepared.statements) > 1:
        return (union(prepared.statements),)
    return prepared.statements


def _allergens(prepared: Prepared, unknown: tuple[str, ...]) -> tuple[tuple[Declaration, bool], ...]:
    """The words of the allergens in descending length, each with whether they say everything.

    With more laws than can stand side by side, the front says what holds under any of them.
    """
    said = declarations(prepared)
    many = len(said) > LAWS_SIDE_BY_SIDE
    shown = (union(said),) if many else said
    short = allergen_block.declaration(shown, unknown, is_short=True), False
    if many:
        return (short,)
    return (allergen_block.declaration(shown, unknown, prepared.basis.reached, prepared.told), True), short


class _Page(NamedTuple):
    """What is to be put on the page, in type of one size: its area, the plate's rim, the checks, the allergens."""

    area: tuple[float, float, float, float]
    rim: plate_geometry.Edge
    dish: Dish
    words_pt: float
    common: str
    allergens: tuple[tuple[Declaration, bool], ...]

    def checks(self, width: float) -> Block:
        return checklist.block(self.dish, width, self.words_pt, self.common)

    def declared(self, width: float) -> Iterator[tuple[Block, bool]]:
        """The allergens in descending length, each with whether it says everything."""
        for said, is_in_full in self.allergens:
            yield allergen_block.laid(said, width, self.words_pt), is_in_full

    @property
    def half(self) -> float:
        return (self.area[2] - GAP) / 2

    def plate_mm(self, width: float, height: float) -> float:
        """How wide the plate can be in this room."""
        return min(width, (height - frame_mm()) / (self.rim.b / self.rim.a))

    @property
    def widest_mm(self) -> float:
        """No plate can be wider, however the page is filled."""
        _, _, w, h = self.area
        return max(self.plate_mm(w * _BETWEEN, h), self.plate_mm(w * _ABOVE, h - GAP - self.checks(self.half).height))


def _plans(page: _Page, share: float, least: float) -> list[_Plan]:
    """The ways to fill the page with a plate of this share of the widest, but of at least ``least`` mm; best first."""
    plans = [plan for way in (_beside, _below) for plan in way(page, share) if plan.plate_mm >= least]
    return sorted(plans, key=lambda plan: -plan.worth)


def _beside(page: _Page, share: float) -> Iterator[_Plan]:
    """The plate between two columns; under the labels of the right one stand the checks and the allergens."""
    x, y, w, h = page.area
    plate_mm = share * page.plate_mm(w * _BETWEEN, h)
    rest = w - plate_mm - 2 * GAP - 2.0
    # The checks stand above the allergens, or across from them, so that labels have room on both sides.
    for part, is_across in ((0.44, False), (0.5, True)):
        left = part * rest
        right = rest - left
        if left < 34.0:
            continue
        checks = page.checks(left if is_across else right)
        gap = GAP if checks.height else 1.5
        middle = x + left + GAP + 1.0 + plate_mm / 2, y + (h - frame_mm() / 2) / 2
        edges = x + left, x + w - right
        for declared, in_full in page.declared(right):
            foot = y + h - declared.height
            at = (x, y + h - checks.height) if is_across else (edges[1], foot - checks.height - gap)
            ends = (at[1] - gap if is_across else y + h, foot - gap if is_across else at[1] - 1.5)
            columns = labels.Column(edges[0], y, ends[0]), labels.Column(edges[1], y, ends[1])
            yield _Plan(
                plate_mm,
                middle,
                columns,
                (left, right),
                (x, edges[1]),
                (checks, *at),
                (declared, edges[1], foot),
                in_full,
            )


def _below(page: _Page, share: float) -> Iterator[_Plan]:
    """The plate between two columns of labels; the checks and the allergens side by side below."""
    x, y, w, h = page.area
    checks = page.checks(page.half)
    if checks.height:
        wide, at = page.half, x + page.half + GAP
    else:
        wide, at = w, x
    for declared, in_full in page.declared(wide):
        band = max(checks.height, declared.height)
        room = h - band - GAP
        plate_mm = share * page.plate_mm(w * _ABOVE, room)
        column = (w - plate_mm - 2 * GAP - 2.0) / 2
        if column < 34.0:
            continue
        edges = x + column, x + w - column
        yield _Plan(
            plate_mm,
            (x + w / 2, y + (room - frame_mm() / 2) / 2),
            (labels.Column(edges[0], y, y + room), labels.Column(edges[1], y, y + room)),
            (column, column),
            (x, edges[1]),
            (checks, x, y + room + GAP),
            (declared, at, y + room + GAP),
            in_full,
        )


def frame_mm() -> float:
    """What the marks round the plate take above and below it together, in mm of the paper."""
    return 2 * (frame.GUEST_MM + 0.8)


# --- drawing ---------------------------------------------------------------------------------------------------------


def _drawn(
    plan: _Plan,
    spots: dict[str, labels.Spot],
    named: _Labels,
    food: _Food,
    arrangement: Arrangement,
    picture: Picture,
) -> Front:
    k = _scale(plan, arrangement)
    scene = picture({}, 1 / k)
    dx, dy = plan.middle[0] - scene.width_mm * k / 2, plan.middle[1] - scene.height_mm * k / 2
    lines: list[Item] = []
    written: list[Item] = []
    for key in named.steps:
        spot = spots[key]
        written.append(named.of(key, plan.widths[spot.side])[0].at(plan.lefts[spot.side], spot.top))
        if key not in food.ends:
            continue
        # On the left it runs level from the end of the name to the edge of the column, clear of the words below.
        level = ((spot.start[0] - spot.short, spot.start[1]),) if spot.side == 0 and spot.short > 0.5 else ()
        lines.append(Polygon((*level, spot.start, spot.target), _BED, closed=False))
        lines.append(Polygon((*level, spot.start, spot.target), _LINE, closed=False, about=About(key, "leader")))
        lines.append(Circle(*spot.target, max(0.5, min(0.9, 0.17 * spot.piece_mm)), _END))
    whole = tuple(_with_accepted(scene, lines, plan, spots, named, arrangement))
    shown = Group(whole, scene.title, scene.description, role="img", placing=Placing(k, dx, dy, k))
    items: tuple[Item, ...] = (
        shown,
        Group(tuple(lines), id="leaders"),
        Group(tuple(_numerals_over(shown, lines, plate.china(arrangement.plate))), role="presentation"),
        Group(tuple(written), id="callouts", title="What is on the plate", role="list"),
        *(block.at(x, y) for block, x, y in (plan.checks, plan.declared)),
    )
    return Front(items, k, plan.is_in_full, named.sizes_pt in DENSE)


def _with_accepted(
    picture: Scene,
    lines: Sequence[Item],
    plan: _Plan,
    spots: Mapping[str, labels.Spot],
    named: _Labels,
    arrangement: Arrangement,
) -> Iterator[Item]:
    """The picture with what expo accepts of one piece of each part, under the food."""
    k, later = _scale(plan, arrangement), named.dish.at_table
    steps = {
        key: here
        for key, mine in named.steps.items()
        if key not in named.changed.gone and (here := [s for s in mine if s.index not in later])
    }

    def on_plate(p: Point) -> Point:
        return (p[0] - plan.middle[0]) / k, (p[1] - plan.middle[1]) / k

    centre = picture.width_mm / 2, picture.height_mm / 2
    boxes = [bounds(i) for i in _clock(picture.items).inner if isinstance(i, Text)]
    segments = [
        (on_plate(p), on_plate(q))
        for line in lines
        if isinstance(line, Polygon)
        for p, q in zip(line.points, line.points[1:])
    ]
    targets = {key: on_plate(spot.target) for key, spot in spots.items()}
    under = acceptance.marks(arrangement, steps, targets, acceptance.Surroundings(segments, boxes, 1 / k))
    for item in picture.items:
        number = item.id.removeprefix("step-") if isinstance(item, Group) else ""
        if number.isdigit() and (shown := under.get(int(number))):
            yield Group(
                shown, id=f"accepted-{number}", title="What expo accepts", placing=Placing(dx=centre[0], dy=centre[1])
            )
        yield item


def _clock(items: Sequence[Item]) -> Group:
    (clock,) = (i for i in items if isinstance(i, Group) and i.id == "clock")
    return clock


def _numerals_over(picture: Group, lines: Sequence[Item], china: str) -> Iterator[Item]:
    """The numerals of the clock that a line crosses, set once more over it on a bed of the plate's colour."""
    for numeral in (i for i in _clock(picture.items).items if isinstance(i, Text) and i.text.isdigit()):
        left, top, right, bottom = bounds(numeral)
        middle, half = ((left + right) / 2, (top + bottom) / 2), (right - left) / 2 + 1.0
        segments = (pair for line in lines if isinstance(line, Polygon) for pair in zip(line.points, line.points[1:]))
        if any(to_segment(*middle, *a, *b) < half for a, b in segments):
            yield Rect(left - 0.3, top + 0.3, right - left + 0.6, bottom - top - 0.6, Style(fill=china))
            yield numeral
