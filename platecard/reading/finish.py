"""Nodes to finishing steps and to how food is treated: the keys that timing and cautions read."""

from __future__ import annotations

from fractions import Fraction

from platecard.diagnostics import Span, error
from platecard.model.handling import PLAIN, STATES, Cooled, Core, FinishStep, Frozen, Handling, Held
from platecard.quantities.clock import at_least_s, duration_s
from platecard.quantities.temperatures import temperature
from platecard.reading.fields import Fields
from platecard.yaml_nodes import Mapping, Scalar, Sequence

# Tempering, marinating or drying overnight may be a finishing step; what takes a week is a recipe.
MAX_STEP_S = 2 * 86400
_KEYS = (
    "state",
    "core",
    "doneness",
    "cut",
    "held",
    "cooled",
    "process",
    "freezing_record",
    "foraged",
    "live",
    "pasteurised",
    "farmed",
)


def seconds(f: Fields, key: str, limit: str = "", is_least: bool = False) -> Fraction | None:
    """A duration in s, zero included; of a range the longer end, or with ``is_least`` the shorter.

    One beyond ``limit`` counts as missing.
    """
    read = f.read(key, at_least_s if is_least else duration_s)
    return read if read is None or not limit or f.within(key, limit, read, read) else None


def degrees(f: Fields, key: str, limit: str) -> Fraction | None:
    """A temperature in °C; of a range the lower end, which is the one that must be safe.

    One beyond ``limit`` counts as missing.
    """
    read = f.read(key, temperature)
    return read.low if read is not None and f.within(key, limit, read.low, read.high) else None


def warmest(f: Fields, key: str, limit: str) -> Fraction | None:
    """A temperature in °C; of a range the upper end: what must be cold is only as cold as its warmest part."""
    read = f.read(key, temperature)
    return read.high if read is not None and f.within(key, limit, read.low, read.high) else None


def steps(f: Fields) -> tuple[FinishStep, ...]:
    """The steps under ``finish``, each with a name that is unique within the component."""
    listed = f.node.get("finish")
    made: list[FinishStep] = []
    for node in listed.items if isinstance(listed, Sequence) else ():
        if isinstance(node, Mapping):
            made.append(_step(Fields(node, f.problems), {s.key for s in made}))
    return tuple(made)


def _step(f: Fields, taken: set[str]) -> FinishStep:
    said = f.text("name")
    if said in taken:
        f.problems.append(
            error(
                "given-twice",
                f.span("name"),
                f"there is already a step '{said}' in this component",
                "give it another name",
            )
        )
    base = said or "-".join(f.text("do").lower().split()) or "step"
    # A second "rest" is rest-2; only a name given by hand can clash.
    key = next(k for k in (base, *(f"{base}-{n}" for n in range(2, 400))) if k not in taken)
    takes = seconds(f, "takes")
    if takes is not None and takes > MAX_STEP_S:
        f.problems.append(
            error(
                "too-long-a-step",
                f.span("takes"),
                f"'{f.text('takes')}' is more than two days",
                "make what takes so long a recipe, not a finishing step",
            )
        )
        takes = None
    after: tuple[tuple[str, Span], ...] | None = ((f.text("after"), f.span("after")),) if f.text("after") else None
    if isinstance(f.node.get("after"), Sequence):
        after = f.placed_words("after")
    return FinishStep(
        key=key,
        do=f.text("do"),
        takes_s=takes if takes is not None else Fraction(0),
        span=f.node.span,
        places=tuple((k, v.span) for k, v in f.node.entries.items()),
        on=f.words("on"),
        at_c=degrees(f, "at", "heat"),
        core_c=degrees(f, "core", "core"),
        after=after,
        ready_s=seconds(f, "ready_before"),
        is_rest=f.true("rest"),
        is_ahead=f.true("ahead"),
        is_together=f.true("together"),
        turn=f.text("turn"),
        note=f.text("note"),
    )


def handling(f: Fields) -> Handling:
    """How a component, a recipe or a line is treated; any of it may be left unsaid."""
    if not any(k in f for k in _KEYS) and not f.written_as("core"):
        return PLAIN
    core = _core(f)
    return Handling(
        state=f.one_of("state", STATES),
        core=core,
        core_unread=core is None and bool(f.written_as("core")),
        doneness=f.text("doneness"),
        cut=f.text("cut"),
        held=_held(f),
        cooled=f.true("cooled") or not isinstance(f.node.get("cooled"), (Scalar, type(None))),
        cooling=_cooling(f),
        process=f.words("process"),
        frozen=_frozen(f),
        foraged=f.true("foraged"),
        live=f.true("live"),
        pasteurised=f.true("pasteurised"),
        farmed=f.true("farmed"),
    )


def _core(f: Fields) -> Core | None:
    if isinstance(f.node.get("core"), Mapping):
        inner = f.sub("core")
        reached = degrees(inner, "reaches", "core")
        return None if reached is None else Core(reached, seconds(inner, "for", "time at core", is_least=True))
    reached = degrees(f, "core", "core")
    return None if reached is None else Core(reached)


def _held(f: Fields) -> Held | None:
    if "held" not in f:
        return None
    inner = f.sub("held")
    return Held(
        f.span("held"),
        degrees(inner, "at", "held"),
        seconds(inner, "up_to", "holding time"),
        warmest(Fields(inner.node, []), "at", "held"),
    )


def _cooling(f: Fields) -> tuple[Cooled, ...]:
    """The stages of cooling; one whose temperature or time could not be read is reported and left out."""
    node = f.node.get("cooled")
    stages = node.items if isinstance(node, Sequence) else (node,)
    made: list[Cooled] = []
    for inner in (Fields(stage, f.problems) for stage in stages if isinstance(stage, Mapping)):
        to_c, within_s = warmest(inner, "reaches", "held"), seconds(inner, "within", "holding time")
        if to_c is not None and within_s is not None:
            made.append(Cooled(to_c, within_s))
    return tuple(made)


def _frozen(f: Fields) -> Frozen | None:
    node = f.node.get("freezing_record")
    if isinstance(node, Scalar) and node.value is not None:
        return Frozen(node.span, record=f.text("freezing_record"))
    if not isinstance(node, Mapping):
        return None
    inner = f.sub("freezing_record")
    return Frozen(
        node.span,
        warmest(inner, "at", "freezing"),
        seconds(inner, "for", is_least=True),
        inner.text("record"),
        inner.text("exempt"),
    )
