"""``@frozen``: the standard library's ``@dataclass(frozen=True, slots=True)``, made in a fifth of the time.

A cold card makes some hundred and twenty classes, and the standard decorator compiles
six functions for each: a quarter of the whole start.  Here one is compiled, the
constructor; the other five are the same for all.  The classes are dataclasses in every
other respect: ``fields``, ``replace``, ``match`` and a type checker see no difference,
and values are constructed faster, because they go straight into their slots.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field
from operator import attrgetter

__all__ = ["field", "frozen"]

TYPE_CHECKING = False
if TYPE_CHECKING:  # as type checkers know it, without loading the module for them
    from typing import dataclass_transform
else:
    def dataclass_transform(**_):
        return lambda decorator: decorator


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(cls: type) -> type:
    """A dataclass with slots whose fields cannot be set again.  Equal by value within one class, hashable (by a ``__hash__`` of its own if it has one), not ordered."""
    made = dataclass(init=False, repr=False, eq=False, slots=True)(cls)
    known: dict[str, Field] = made.__dataclass_fields__
    made.__init__ = _constructor(made, known)
    made.__setattr__, made.__delattr__ = _set, _delete
    made.__getstate__, made.__setstate__ = _state, _restore
    compared = _taker([f.name for f in known.values() if f.compare])

    def equal(self, other):
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    if "__eq__" not in cls.__dict__:
        made.__eq__ = equal
        if "__hash__" not in cls.__dict__:
            made.__hash__ = lambda self: hash(compared(self))
    if "__repr__" not in cls.__dict__:
        made.__repr__ = _shown
    return made


def _constructor(cls: type, known: dict[str, Field]) -> Callable:
    """``__init__``, compiled from the names of the class's own fields, as the standard decorator does it."""
    names: dict[str, object] = {"_missing_": MISSING}
    arguments, lines = [], []
    for name, one in known.items():
        names[f"set_{name}"] = getattr(cls, name).__set__
        if one.default_factory is not MISSING:
            names[f"make_{name}"] = one.default_factory
            value = f"make_{name}() if {name} is _missing_ else {name}" if one.init else f"make_{name}()"
            default = "=_missing_"
        elif one.default is not MISSING:
            names[f"default_{name}"] = one.default
            value, default = name if one.init else f"default_{name}", f"=default_{name}"
        elif one.init:
            value, default = name, ""
        else:
            continue  # the class sets it itself, after the construction
        lines.append(f" set_{name}(self, {value})")
        if one.init:
            arguments.append(f"{name}{default}")
    if hasattr(cls, "__post_init__"):
        lines.append(" self.__post_init__()")
    made: dict[str, Callable] = {}
    exec(f"def __init__(self, {', '.join(arguments)}):\n" + "\n".join(lines or [" pass"]), names, made)
    made["__init__"].__qualname__ = f"{cls.__qualname__}.__init__"
    return made["__init__"]


def _taker(names: list[str]) -> Callable[[object], object]:
    """The named fields of a value, as something to compare."""
    return attrgetter(*names) if names else lambda value: ()


def _set(self, name, value):
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _delete(self, name):
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self):
    return [getattr(self, name) for name in self.__dataclass_fields__]


def _restore(self, state):
    for name, value in zip(self.__dataclass_fields__, state):
        object.__setattr__(self, name, value)


def _shown(self):
    inside = ", ".join(f"{f.name}={getattr(self, f.name)!r}" for f in self.__dataclass_fields__.values() if f.repr)
    return f"{self.__class__.__qualname__}({inside})"
