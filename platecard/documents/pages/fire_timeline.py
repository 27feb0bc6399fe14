"""The fire timeline as a picture: bars by station, with time running to the plate on the right.

In: a schedule.  Out: a block for the service sheet, or a picture of its own.  A full
bar is on the critical path (late here means late at the pass).  An outlined bar has time
in hand, shown as the thin line before it.  A hatched bar is done ahead of the order, a
dotted one only rests.  Where what is done ahead would leave no room for the rest, it is drawn to a
smaller scale on a tinted ground, with a double stroke where the scale changes.
"""

from __future__ import annotations

from fractions import Fraction

from platecard.documents.kit.sheet import GREY, INK, MARGIN, PALE, WHITE, Block, line_mm, paragraph
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Polygon, Rect, Scene, Style, Text
from platecard.drawing.signs import hatch, lines_path
from platecard.quantities.clock import celsius, clock_text, minutes_text, spoken
from platecard.service.fire import Schedule, Task

ROW, HEAD = 3.9, 3.9  # mm: one step; a station's name
SIZE = 8.0
_TICKS = (10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200)


def draw(schedule: Schedule, width: float, at_s: int | None = None) -> Block:
    """The timeline, ``width`` mm wide; ``at_s`` is when the plate leaves, in seconds after midnight."""
    label = min(
        max((fonts.width_mm(_label(t, schedule), SIZE, "semibold") for t in schedule.tasks), default=0) + 2.0,
        width * 0.44,
    )
    start, end = float(min(t.start_s for t in schedule.tasks)), 0.0
    lead = -float(schedule.lead_s)
    scale = _Scale(label, width - 1.0, start, lead, end)
    items: list[Item] = []
    y = 0.0
    title = f"FIRE {spoken(schedule.lead_s)} before the plate leaves"
    if at_s is not None:
        title = f"FIRE {clock_text(at_s - schedule.lead_s)}, plate leaves {clock_text(at_s)}"
    items.append(Text(0, 3.6, title, 10.5, "bold", colour=INK))
    if schedule.whole_s > schedule.lead_s:
        said = f"whole chain {spoken(schedule.whole_s)}, what is done ahead included"
        if fonts.width_mm(title, 10.5, "bold") + fonts.width_mm(said, 8.0) + 4 < width:
            items.append(Text(width, 3.4, said, 8.0, anchor="end", colour=INK))
    y += 5.4
    items += _axis(scale, y, at_s)
    top = y + 3.6
    y = top + 0.6
    bars: list[Item] = []
    for station, tasks in _stations(schedule):
        bars += [Rect(0, y, width, HEAD - 0.5, Style(fill=PALE)), Text(1.0, y + 2.65, station, 8.0, "bold", colour=INK)]
        y += HEAD
        for task in tasks:
            bars += _row(task, schedule, scale, label, y, at_s)
            y += ROW
    if scale.fold:
        items.insert(0, Rect(scale.left, top - 4.2, scale.fold, y - top + 4.2, Style(fill=_TINT)))
    items += [Rect(x - 0.05, top, 0.1, y - top, Style(fill=GREY)) for x, _ in scale.ticks()]
    if start < lead < end:
        items.append(
            Polygon(
                ((scale.x(lead), top - 1.0), (scale.x(lead), y)),
                Style(stroke=INK, width=0.4, dash=(1.2, 0.8)),
                closed=False,
            )
        )
    items += bars
    if scale.fold:
        for at in (top - 0.4, y + 0.2):
            items += _double_stroke(scale.x(lead), at)
    items.append(Rect(scale.x(0) - 0.2, top - 1.0, 0.4, y - top + 1.0, Style(fill=INK)))
    key = paragraph(_KEY + scale.said, width, SIZE, "regular", GREY, y=y + 1.4)
    items += key.items
    whole = " > ".join(_label(schedule.task(k), schedule) for k in schedule.critical)
    path = paragraph(f"Nothing to spare: {whole}", width, 8.0, "semibold", INK, y=y + 1.4 + key.height + 0.3)
    items += path.items
    height = y + 1.4 + key.height + 0.3 + path.height + 0.8
    return Block(height, (Group(tuple(items), title="Fire timeline", description=in_words(schedule), role="img"),))


_TINT = "#f3f1ec"
_KEY = (
    "Full bar: nothing to spare. Outlined: time in hand, as long as the thin line before it. Hatched: done before the"
    " order. Dotted: rests."
)


def picture(schedule: Schedule, at_s: int | None = None, language: str = "en-GB", width: float = 210.0) -> Scene:
    """The timeline as a picture of its own, headed by its dishes."""
    inner = width - 2 * MARGIN
    names = "  ·  ".join(title + (f", {n} plates" if n > 1 else "") for _, title, n in schedule.dishes)
    head = paragraph(names, inner, 13.0, "bold")
    block = draw(schedule, inner, at_s)
    height = 2 * MARGIN + head.height + 2.0 + block.height
    items = (
        Rect(0, 0, width, height, Style(fill=WHITE)),
        head.at(MARGIN, MARGIN),
        block.at(MARGIN, MARGIN + head.height + 2.0),
    )
    return Scene(width, height, items, f"{names}: fire timeline", in_words(schedule), language)


def in_words(schedule: Schedule) -> str:
    """The steps in one sentence each, for readers who hear the picture."""
    return " ".join(f"{spoken(-t.start_s)} before: {t.called}, {t.do}, {spoken(t.takes_s)}." for t in schedule.tasks)


class _Scale:
    """Seconds to mm; what is done ahead is drawn to a smaller scale if it would leave no room for the rest."""

    def __init__(self, left: float, right: float, start: float, lead: float, end: float) -> None:
        self.left, self.right, self.start, self.lead, self.end = left, right, start, lead, end
        self.fold = 0.0
        if start < lead and (end - lead) < 0.72 * (end - start):
            self.fold = (right - left) * 0.28

    @property
    def said(self) -> str:
        """How much smaller the scale of what is done ahead is, as a sentence; empty if all is drawn to one scale."""
        if not self.fold:
            return ""
        right = (self.right - self.left - self.fold) / (self.end - self.lead)
        times = right * (self.lead - self.start) / self.fold
        return f" Shaded, up to the double line: the time before the order, on a scale {times:.1f} times as small."

    def x(self, at: float | Fraction) -> float:
        """The place of a time in mm."""
        at = float(at)
        if not self.fold:
            return self.left + (at - self.start) / ((self.end - self.start) or 1.0) * (self.right - self.left)
        if at <= self.lead:
            return self.left + (at - self.start) / (self.lead - self.start) * self.fold
        return (
            self.left
            + self.fold
            + (at - self.lead) / ((self.end - self.lead) or 1.0) * (self.right - self.left - self.fold)
        )

    def ticks(self) -> list[tuple[float, float]]:
        """The ticks as (mm, seconds): as many as have room for their labels."""
        made: list[tuple[float, float]] = []
        whole = (self.lead if self.fold else self.start, self.end, self.right - self.left - self.fold)
        for begin, end, mm in (whole, (self.start, self.lead, self.fold)):
            if mm <= 0 or end <= begin:
                continue
            step = next((t for t in _TICKS if (end - begin) / t * 14.0 <= mm), 86400)
            at = -(-begin // step) * step
            while at <= end:
                if (
                    at != 0
                    and not (self.fold and abs(self.x(at) - self.x(self.lead)) < 6.0)
                    and not any(abs(self.x(at) - x) < 9.0 for x, _ in made)
                    and abs(self.x(at) - self.right) > 9.0
                ):
                    made.append((self.x(at), at))
                at += step
        return [*made, (self.right, 0.0)]


def _double_stroke(x: float, y: float) -> list[Item]:
    """Two short slanted strokes on white: the axis is broken here, and goes on at another scale."""
    strokes = [((x + dx - 0.7, y + 1.3), (x + dx + 0.7, y - 1.3)) for dx in (-0.7, 0.7)]
    (a, b), (c, d) = strokes
    return [
        Polygon((a, b, d, c), Style(fill=WHITE)),
        *(Polygon(stroke, Style(stroke=INK, width=0.35), closed=False) for stroke in strokes),
    ]


def _axis(scale: _Scale, y: float, at_s: int | None) -> list[Item]:
    items: list[Item] = []
    for x, at in scale.ticks():
        if at_s is not None:
            words = clock_text(int(at_s + at)).split(" ")[0]
            words = words.removesuffix(":00") if words.endswith(":00") else words
        else:
            words = "pass" if at == 0 else f"−{minutes_text(Fraction(-at))}"
        items.append(Text(x, y + 2.4, words, SIZE, "semibold", anchor="end" if at == 0 else "middle", colour=INK))
    return items


def _stations(schedule: Schedule) -> list[tuple[str, list[Task]]]:
    """The steps by station: the station that starts first on top, the pass last."""
    found: dict[str, list[Task]] = {}
    for task in schedule.tasks:
        found.setdefault(task.station, []).append(task)
    for tasks in found.values():
        # The steps of a component are kept together, in the order of their starts.
        first: dict[tuple[str, str], Fraction] = {}
        for t in tasks:
            first.setdefault((t.dish, t.component), t.start_s)
        tasks.sort(key=lambda t: (first[(t.dish, t.component)], t.dish, t.component, t.start_s))
    return sorted(found.items(), key=lambda kv: (kv[1][0].component == "", kv[1][0].start_s, kv[0]))


def _label(task: Task, schedule: Schedule) -> str:
    if not task.component:
        return task.do if len(schedule.dishes) == 1 else f"{task.do} ({_dish(task, schedule)})"
    return f"{task.called}: {task.do}" + (f", {task.places} of them" if task.places > 1 else "")


def _dish(task: Task, schedule: Schedule) -> str:
    return next((title.split(",")[0] for key, title, _ in schedule.dishes if key == task.dish), task.dish)


def _details(task: Task) -> str:
    """What is printed beside a bar: how long, how hot, the core temperature, when to turn."""
    said = [spoken(task.takes_s)] if task.takes_s else []
    if task.at_c is not None:
        said.append(f"at {celsius(task.at_c)}")
    if task.core_c is not None:
        said.append(f"core {celsius(task.core_c)}")
    if task.turn:
        said.append(task.turn if task.turn.startswith("turn") else f"turn {task.turn}")
    return ", ".join(said)


def _row(task: Task, schedule: Schedule, scale: _Scale, label: float, y: float, at_s: int | None) -> list[Item]:
    base = y + 2.75
    items: list[Item] = [
        Text(1.0, base, fonts.fit(_label(task, schedule), label - 2.0, SIZE, "semibold"), SIZE, "semibold", colour=INK)
    ]
    x0, x1 = scale.x(task.start_s), scale.x(task.end_s)
    x1 = max(x1, x0 + 0.7)
    if task.slack_s:
        early = scale.x(max(task.start_s - task.slack_s, Fraction(scale.lead)))
        items.append(Rect(early, y + 1.75, max(x0 - early, 0.1), 0.25, Style(fill=GREY)))
    box = ((x0, y + 0.3), (x1, y + 0.3), (x1, y + 3.4), (x0, y + 3.4))
    if task.is_critical and not task.is_rest:
        items.append(Polygon(box, Style(fill=INK)))
    elif task.is_rest:
        items.append(
            Polygon(box, Style(fill=WHITE, stroke=INK, width=0.6 if task.is_critical else 0.3, dash=(0.4, 0.9)))
        )
    else:
        items.append(Polygon(box, Style(fill=WHITE, stroke=INK, width=0.35)))
        if task.is_ahead:
            items.append(lines_path(hatch(box, 60, 1.1), Style(stroke=GREY, width=0.15)))
    when = (
        clock_text(at_s + task.start_s).split(" ")[0].removesuffix(":00")
        if at_s is not None
        else f"−{minutes_text(-task.start_s)}"
    )
    words = f"{when}  {_details(task)}"
    used = fonts.width_mm(words, SIZE)
    if used + 2.4 <= x1 - x0 and task.is_ahead:
        items += _on_white(Text(x0 + 1.2, base, words, SIZE, colour=INK), used, y)
    elif used + 1.6 <= x1 - x0 and not task.is_ahead:
        colour = WHITE if task.is_critical and not task.is_rest else INK
        items.append(Text(x0 + 0.8, base, words, SIZE, "semibold" if colour == WHITE else "regular", colour=colour))
    elif x1 + used + 1.2 <= scale.right:
        items += _on_white(Text(x1 + 0.8, base, words, SIZE, colour=INK), used, y)
    elif x0 - used - 1.2 >= label:
        items += _on_white(Text(x0 - 0.8, base, words, SIZE, anchor="end", colour=INK), used, y)
    else:
        # If neither side has room for all of the text, the wider side takes what fits.
        before, after = x0 - label - 1.6, scale.right - x1 - 1.6
        short = fonts.fit(words, max(before, after, 12.0), SIZE)
        text = (
            Text(x0 - 0.8, base, short, SIZE, anchor="end", colour=INK)
            if before > after
            else Text(x1 + 0.8, base, short, SIZE, colour=INK)
        )
        items += _on_white(text, fonts.width_mm(short, SIZE), y)
    said = f"{_label(task, schedule)}, {spoken(-task.start_s)} before the plate leaves, {_details(task)}"
    return [Group(tuple(items), title=said, role="listitem")]


def _on_white(text: Text, used: float, y: float) -> list[Item]:
    """Text beside a bar, on white that hides the lines behind it."""
    x = text.x - used if text.anchor == "end" else text.x
    return [Rect(x - 0.3, y + 0.5, used + 0.6, line_mm(SIZE) - 0.1, Style(fill=WHITE)), text]
