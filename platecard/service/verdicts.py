"""What a spec says of holding, freezing, cooking, cooling and reheating, judged by the figures of a food code.

Pure functions from what was said and a code's figures to a :class:`Judgement`.  They fail closed:
what cannot be told is never taken as met, nor is a figure from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from platecard.knowledge.names import fold
from platecard.model.handling import Cooled, Core, Frozen, Held
from platecard.quantities.clock import celsius, spoken
from platecard.quantities.shelf_life import CHILLED, FROZEN, Lasting
from platecard.service.food_codes import (
    MEMORY,
    MET,
    NO_TIME,
    Cooling,
    Cores,
    ExemptionWords,
    FoodCodes,
    Freezing,
    Holding,
    HoldingPeriod,
    Keeping,
    Packs,
    Reheating,
    TimedSteps,
)

_LEAST_S = 60  # a shorter time of holding, cooling or keeping is a slip of the pen
_DEGREES = re.compile(r"\d\s*°|\d\s*[CF]\b")
# Words with which "in the fridge" may mean something else: "out of the fridge", "not chilled".
_DOUBTS = frozenset({"out", "outside", "off", "not", "no", "never", "without", "after", "before", "warm", "room"})


class Verdict(StrEnum):
    """How what a spec says stands to a figure, worst first; each member is its own word, in JSON too."""

    OUTSIDE = "outside"
    CANNOT_TELL = "cannot be told"
    NOT_STATED = "not stated"
    WITHIN = "within"


OUTSIDE, CANNOT_TELL, NOT_STATED, WITHIN = Verdict.OUTSIDE, Verdict.CANNOT_TELL, Verdict.NOT_STATED, Verdict.WITHIN
RANK = {verdict: rank for rank, verdict in enumerate(Verdict)}


class Judgement(NamedTuple):
    """A verdict under one food code, and why.

    ``by_design``: the spec itself says that it is served so, as a pink duck is.
    """

    code: str
    verdict: Verdict
    why: str = ""
    by_design: bool = False


def by_its_source(judged: Judgement, mark: str) -> Judgement:
    """The same, unless it says that a figure from memory is met: nothing is safe on the strength of that."""
    if judged.verdict is WITHIN and mark == MEMORY:
        return judged._replace(verdict=CANNOT_TELL, why="it meets the usual figure, which was not verified")
    return judged


# --------------------------------------------------------------------------- holding


def holding(code: str, held: Held | None, figures: Holding) -> Judgement:
    """Whether food is held hot or cold, or stands between for no longer than it may."""
    if held is None or held.at_c is None:
        return Judgement(code, NOT_STATED, "the holding temperature")
    warmest = held.at_c if held.warmest_c is None else held.warmest_c
    if held.at_c >= figures.hot_c:
        return by_its_source(Judgement(code, WITHIN, f"hot, from {celsius(figures.hot_c)}"), figures.mark)
    if warmest <= figures.cold_c:
        return by_its_source(Judgement(code, WITHIN, f"cold, up to {celsius(figures.cold_c)}"), figures.mark)
    between = (
        f"too cold for hot ({celsius(figures.hot_c)} or more), too warm for cold ({celsius(figures.cold_c)} or less)"
    )
    if not figures.periods:
        return Judgement(code, OUTSIDE, f"{between}, and no time is named that it may stand so")
    if held.up_to_s is None:
        return Judgement(code, NOT_STATED, f"how long, and it is {between}")
    if held.up_to_s < _LEAST_S:
        return Judgement(code, CANNOT_TELL, f"{between}; the time is too short to be meant")
    can = [(p, _starts_so(p, held, warmest)) for p in figures.periods if _lasts(p, held.up_to_s)]
    if any(known for _, known in can):
        return by_its_source(Judgement(code, WITHIN, f"{between}, but only for {spoken(held.up_to_s)}"), figures.mark)
    perhaps = [p for p, known in can if known is None]
    if perhaps:
        return Judgement(code, CANNOT_TELL, f"{between}; {spoken(held.up_to_s)} only if {perhaps[0].says}")
    first = figures.periods[0]
    most = f"{'less than ' if first.is_under else ''}{spoken(first.most_s)}"
    return Judgement(code, OUTSIDE, f"{between}, and {spoken(held.up_to_s)} is too long, {most} at most")


def _lasts(period: HoldingPeriod, seconds: Fraction) -> bool:
    return seconds < period.most_s or (seconds == period.most_s and not period.is_under)


def _starts_so(period: HoldingPeriod, held: Held, warmest: Fraction) -> bool | None:
    """Whether the condition of a period is met; None where the spec cannot show it."""
    if period.warmest_c is not None and warmest > period.warmest_c:
        return False
    if period.starts_c is not None:
        # A range begins at its lower end; a single figure says nothing of how cold it was when it was taken out.
        return True if held.at_c is not None and held.at_c <= period.starts_c else None
    return None if period.says else True


# --------------------------------------------------------------------------- freezing


def freezing(
    code: str, frozen: Frozen | None, figures: Freezing, kinds: frozenset[str], reasons: ExemptionWords
) -> Judgement:
    """Whether a freezing record, or the reason for having none, is enough against parasites.

    ``kinds`` are the kinds of food that it is; ``reasons`` the words that may stand in such a reason.
    """
    if frozen is None:
        return Judgement(code, NOT_STATED, "the freezing record")
    if frozen.exempt:
        return _exempt(code, frozen.exempt, figures, kinds, reasons)
    if frozen.celsius is None or frozen.for_s is None:
        what = [w for w, v in (("temperature", frozen.celsius), ("time", frozen.for_s)) if v is None]
        return Judgement(code, NOT_STATED, f"the freezing {' and '.join(what)}")
    if any(frozen.celsius <= cold and frozen.for_s >= seconds for cold, seconds in figures.steps):
        if any(k in kinds for k in figures.no_promise_kinds):
            return Judgement(code, CANNOT_TELL, figures.no_promise)
        return by_its_source(Judgement(code, WITHIN), figures.mark)
    cold_enough = [(cold, seconds) for cold, seconds in figures.steps if frozen.celsius <= cold]
    if not cold_enough:
        return Judgement(code, OUTSIDE, f"not cold enough, {celsius(max(c for c, _ in figures.steps))} or colder")
    cold, seconds = min(cold_enough, key=lambda s: s[1])
    return Judgement(code, OUTSIDE, f"too short, {spoken(seconds)} at {celsius(cold)} or colder")


def _exempt(code: str, reason: str, figures: Freezing, kinds: frozenset[str], reasons: ExemptionWords) -> Judgement:
    """Whether a reason is an exemption of a code, and every word of it is understood."""
    words = fold(reason).split()
    said = f" {' '.join(words)} "
    found = next(
        (
            e
            for e in figures.exempt
            if (not e.kinds or e.kinds & kinds) and any(f" {fold(w)} " in said for w in e.words)
        ),
        None,
    )
    if found is None or not reasons.denials.isdisjoint(words):
        return Judgement(code, OUTSIDE, "that is not an exemption in this code")
    of_it = {w for word in (*found.words, *found.needs) for w in fold(word).split()}
    strange = [w for w in words if w not in of_it and w not in reasons.beside and not w[0].isdigit()]
    if strange:
        return Judgement(code, CANNOT_TELL, f"'{strange[0]}' in its reason is not understood")
    if found.needs and not any(f" {fold(w)} " in said for w in found.needs):
        return Judgement(code, CANNOT_TELL, f"exempt only if {found.says}")
    return by_its_source(
        Judgement(code, WITHIN, f"exempt, if you hold the document that proves it: {found.says}"), figures.mark
    )


# --------------------------------------------------------------------------- cooking and reheating


def cooking(code: str, cores: Cores, wanted: TimedSteps, mark: str, codes: FoodCodes) -> Judgement:
    """Whether the core was hot for long enough."""
    if not cores:
        return Judgement(code, NOT_STATED, "the core temperature")
    status = codes.status(wanted, cores)
    if status == MET:
        return by_its_source(Judgement(code, WITHIN), mark)
    reached, held = hottest(cores)
    enough = [(least, seconds) for least, seconds in wanted if reached >= least]
    if status == NO_TIME:
        least, seconds = max(enough)
        return Judgement(code, NOT_STATED, f"how long, {spoken(seconds)} at {celsius(least)}")
    if not enough or held is None:
        least, seconds = min(wanted)
        return Judgement(code, OUTSIDE, f"not hot enough, needs {_step(least, seconds)}")
    least, seconds = max(enough)
    return Judgement(code, OUTSIDE, f"too short, needs {_step(least, seconds)}")


def _step(least: Fraction, seconds: Fraction) -> str:
    return celsius(least) + (f" for {spoken(seconds)}" if seconds else "")


def hottest(cores: Cores) -> tuple[Fraction, Fraction | None]:
    """The hottest of the cores, and of two alike the longer."""
    return max(cores, key=lambda c: (c[0], c[1] or 0))


def reheating(code: str, cores: Cores, is_held: bool, figures: Reheating, codes: FoodCodes) -> Judgement:
    """Whether food that was chilled is heated through again; ``is_held``: it then waits for the plate."""
    if figures.is_held_only and not is_held:
        return Judgement(code, WITHIN, "no temperature is set for food that is served at once")
    judged = cooking(code, cores, figures.steps, figures.mark, codes)
    if judged.verdict is WITHIN:
        if figures.stricter_c is not None and hottest(cores)[0] < figures.stricter_c:
            return Judgement(code, CANNOT_TELL, f"hot enough by its list, but {figures.stricter}")
    return judged


def water_bath(code: str, core: Core | None, mark: str, codes: FoodCodes) -> Judgement:
    """Whether a water bath does as much as the reference of the British list."""
    if core is None or core.for_s is None:
        return Judgement(
            code, NOT_STATED, "the time at the core temperature" if core else "the core temperature and time"
        )
    lowest = min(least for row in codes.heat["uk"] for least, _ in row.steps)
    if core.celsius < lowest:
        return Judgement(code, OUTSIDE, f"below {celsius(lowest)}, where the list begins")
    if core.for_s < codes.needed_s(core.celsius):
        return Judgement(code, OUTSIDE, f"too short, {spoken(round(codes.needed_s(core.celsius)))} at this temperature")
    return by_its_source(Judgement(code, WITHIN), mark)


# --------------------------------------------------------------------------- cooling


def cooling(code: str, cooled: tuple[Cooled, ...], figures: Cooling | None) -> Judgement:
    """Whether food was cooled fast enough: each stage reached in its time, counted from hot holding."""
    if not cooled:
        return Judgement(code, NOT_STATED, "how cold in how long")
    if figures is None:
        return Judgement(code, CANNOT_TELL, "it names no figure, only as quickly as can be")
    later = sorted(cooled, key=lambda c: -c.to_c)
    if any(c.within_s < _LEAST_S for c in cooled) or any(b.within_s < a.within_s for a, b in zip(later, later[1:])):
        return Judgement(code, CANNOT_TELL, "the stages contradict each other, or a time is too short to be meant")
    open_: list[str] = []
    for to_c, within_s in figures.stages:
        if any(c.to_c <= to_c and c.within_s <= within_s for c in cooled):
            continue
        wanted = f"{celsius(to_c)} within {spoken(within_s)}"
        # Reaching a warmer temperature, or this one, only after the time was up is too slow.
        if any(c.to_c >= to_c and c.within_s > within_s for c in cooled) or (
            (to_c, within_s) == figures.stages[-1] and any(c.to_c <= to_c for c in cooled)
        ):
            return Judgement(code, OUTSIDE, f"too slow, {wanted}")
        if (to_c, within_s) == figures.stages[-1]:
            return Judgement(code, OUTSIDE, f"not cold enough, {wanted}")
        open_.append(f"when it was at {celsius(to_c)}, {spoken(within_s)} at most")
    if open_:
        return Judgement(code, NOT_STATED, " and ".join(open_))
    return by_its_source(Judgement(code, WITHIN), figures.mark)


# --------------------------------------------------------------------------- keeping


def keeping(code: str, kept: Iterable[Lasting], figures: Keeping) -> Judgement:
    """Whether food is kept for no longer than ready food that needs the cold may be."""
    said = [x for x in kept if x.is_said]
    if any(x.unread for x in said):
        return Judgement(code, CANNOT_TELL, "part of it could not be read")
    if any(x.is_open or (x.longest_s is not None and x.longest_s > figures.most_s) for x in said):
        return Judgement(code, CANNOT_TELL, "only what is sour, sweet, salty or dry enough may be kept so long")
    return _in_the_cold(code, said, f"if at {celsius(figures.at_c)} or colder", figures.mark)


def packed(code: str, kept: Iterable[Lasting], figures: Packs) -> Judgement | None:
    """Whether food sealed in a bag is kept for no longer than it may be; None where nothing is said of keeping."""
    said = [x for x in kept if x.is_said]
    if not said:
        return None
    longest = max((x.longest_s for x in said if x.longest_s is not None), default=None)
    usual_s, usual = figures.steps[0]
    most_s, _ = figures.steps[-1]
    if longest is not None and longest > most_s:
        return Judgement(code, OUTSIDE, f"too long, {spoken(most_s)} at most")
    if longest is None or any(x.is_open for x in said):
        return Judgement(code, CANNOT_TELL, f"how long is not settled; {spoken(usual_s)} {usual}")
    if longest > usual_s:
        later_s, later = next((seconds, says) for seconds, says in figures.steps if longest <= seconds)
        return Judgement(code, CANNOT_TELL, f"{spoken(usual_s)} {usual}; {spoken(later_s)} only {later}")
    return _in_the_cold(code, said, f"if {usual}", figures.mark)


def _in_the_cold(code: str, said: list[Lasting], condition: str, mark: str) -> Judgement:
    """Within, under the condition that it is cold enough; not stated where no cold is spoken of."""
    if any(x.longest_s is not None and x.longest_s < _LEAST_S for x in said):
        return Judgement(code, CANNOT_TELL, "the time is too short to be meant")
    if any(x.ways - {CHILLED, FROZEN} or _DEGREES.search(x.text) or _DOUBTS & set(fold(x.text).split()) for x in said):
        return Judgement(code, CANNOT_TELL, "whether it is kept cold enough all the time")
    if not all(CHILLED in x.ways or FROZEN in x.ways for x in said if x.ways) or not any(x.ways for x in said):
        return Judgement(code, NOT_STATED, "that it is kept in the cold")
    return by_its_source(Judgement(code, WITHIN, condition), mark)


def worst(judged: Iterable[Judgement]) -> Judgement | None:
    """The worst of several judgements under one code; None of none."""
    return min(judged, key=lambda j: (RANK[j.verdict], j.why), default=None)
