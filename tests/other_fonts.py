"""Fonts of other writing systems, as if others were installed: whatever is remembered of them is forgotten."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from platecard.drawing import fonts, pdf_fonts, pdf_scripts, script_fonts, scripts, svg


def forget() -> None:
    """Forget what is remembered of fonts and of texts that were measured."""
    for module in (fonts, script_fonts, scripts, pdf_fonts, pdf_scripts, svg):
        for value in vars(module).values():
            if hasattr(value, "cache_clear"):
                value.cache_clear()


@contextmanager
def forgotten() -> Iterator[None]:
    """Forget it before and after what is done inside."""
    forget()
    try:
        yield
    finally:
        forget()
