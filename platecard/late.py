"""Keeps what libraries load and no card uses from costing every card its time.

A cold start is mostly imports.  reportlab loads an image library, svgwrite a network
library and the grammar of its checking mode; a card has no images, opens no connection
and is not checked there.  While one of them is imported, what it asks for is promised
instead of loaded, and loaded if it is ever used.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

FOR_REPORTLAB = ("PIL",)
FOR_SVGWRITE = ("urllib.request", "svgwrite.data.svgparser")


@contextmanager
def promised(modules: tuple[str, ...]) -> Iterator[None]:
    """Within this block ``from module import name`` binds a promise of the name, for those of ``modules`` that are not loaded already."""
    stand_ins = {name: _StandIn(name) for name in modules if name not in sys.modules}
    sys.modules.update(stand_ins)
    try:
        yield
    finally:
        for name, stand_in in stand_ins.items():
            if sys.modules.get(name) is stand_in:
                del sys.modules[name]


class _StandIn(ModuleType):
    """A module of which every name is a promise."""

    def __getattr__(self, name: str) -> _Promise:
        if name.startswith("__"):  # asked by the import itself
            raise AttributeError(name)
        return _Promise(self.__name__, name)


class _Promise:
    """A name of a module that is imported when something is first done with it."""

    def __init__(self, module: str, name: str):
        self._place = module, name

    def _kept(self) -> object:
        module, name = self._place
        if isinstance(sys.modules.get(module), _StandIn):  # wanted already while its library is imported
            del sys.modules[module]
        try:
            return importlib.import_module(f"{module}.{name}")
        except ModuleNotFoundError:
            return getattr(importlib.import_module(module), name)

    def __getattr__(self, name: str) -> object:
        return getattr(self._kept(), name)

    def __call__(self, *arguments, **named):
        return self._kept()(*arguments, **named)
