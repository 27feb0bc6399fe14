"""A short fingerprint of everything that a document was made from.

Values are written out in a canonical form and hashed; places in files are left out
of what is printed (a comment added above changes no card) and kept in the key that
decides whether a document is out of date (its diagram names spec lines).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import fields, is_dataclass

from . import __version__
from .pipeline import Prepared
from .problems import Span


def of(prepared: Prepared) -> str:
    """Eight hex digits, printed on the document."""
    return _digest(prepared, with_places=False)[:8]


def key(prepared: Prepared, extra: str = "") -> str:
    """The full key of a dish's documents."""
    return hashlib.sha256((_digest(prepared, with_places=True) + extra).encode()).hexdigest()


def of_menu(menu: Iterable[Prepared]) -> str:
    """The full key of the menu's documents."""
    state = hashlib.sha256()
    for prepared in menu:
        state.update(f"{prepared.key} {prepared.is_sound} {_digest(prepared, with_places=False)} ".encode())
    return state.hexdigest()


def _digest(prepared: Prepared, with_places: bool) -> str:
    settings = prepared.world.kitchen.settings
    what = (prepared.dish, prepared.resolved, settings, prepared.statements)
    state = hashlib.sha256(__version__.encode())
    _write(what, state.update, with_places, {})
    return state.hexdigest()


def _write(value: object, put, with_places: bool, seen: dict[int, bytes]) -> None:
    """Feed ``value`` to ``put``; a shared batch is written once and then referred to."""
    if isinstance(value, Span):
        if with_places:
            put(str(value).encode())
    elif is_dataclass(value):
        mark = seen.get(id(value))
        if mark is not None:
            put(mark)
            return
        seen[id(value)] = f"@{len(seen)}".encode()
        put(type(value).__name__.encode() + b"(")
        for f in fields(value):
            _write(getattr(value, f.name), put, with_places, seen)
            put(b",")
        put(b")")
    elif isinstance(value, (tuple, list)):
        put(b"[")
        for item in value:
            _write(item, put, with_places, seen)
            put(b",")
        put(b"]")
    elif isinstance(value, dict):
        _write([(k, v) for k, v in value.items()], put, with_places, seen)
    else:
        put(repr(value).encode())
