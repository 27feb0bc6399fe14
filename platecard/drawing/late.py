"""Keeps what the drawing libraries load and no card uses from costing every card its time.

A cold start is mostly imports.  reportlab loads an image library and svgwrite a network
library; a card has no images and opens no connection.  While one of them is imported,
what it asks for is promised instead of loaded, and loaded if it is ever used.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

IMAGES, NETWORK = "PIL", "urllib.request"


@contextmanager
def promised(module: str) -> Iterator[None]:
    """Within this block ``from module import name`` binds a promise of the name, unless the module is loaded already."""
    if module in sys.modules:
        yield
        return
    stand_in = ModuleType(module)
    stand_in.__getattr__ = _promise_of(module)
    sys.modules[module] = stand_in
    try:
        yield
    finally:
        del sys.modules[module]


def _promise_of(module: str):
    def named(name: str) -> _Promise:
        if name.startswith("__"):  # asked by the import itself
            raise AttributeError(name)
        return _Promise(module, name)

    return named


class _Promise:
    """A name of a module that is imported when something is first done with it."""

    def __init__(self, module: str, name: str):
        self._place = module, name

    def _kept(self) -> object:
        module, name = self._place
        try:
            return importlib.import_module(f"{module}.{name}")
        except ModuleNotFoundError:
            return getattr(importlib.import_module(module), name)

    def __getattr__(self, name: str) -> object:
        return getattr(self._kept(), name)

    def __call__(self, *arguments, **named):
        return self._kept()(*arguments, **named)
