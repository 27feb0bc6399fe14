"""platecard: a plate spec in, a true-scale diagram and a pass card out.

The road is one way: read, check, resolve, compute, draw, write.  Start with
:mod:`platecard.pipeline`; the folder map stands in DEVELOPERS.md.  Other programs use
what :mod:`platecard.api` has, by its name here: ``platecard.open_kitchen``.
"""

__version__ = "0.1.0"

TYPE_CHECKING = False
if TYPE_CHECKING:  # for type checkers alone: the version is said without loading any of it
    from platecard.api import (
        CAUTION,
        Answer,
        OpenKitchen,
        Prepared,
        Problem,
        Report,
        UsageError,
        draw,
        open_kitchen,
    )

__all__ = [
    "CAUTION",
    "Answer",
    "OpenKitchen",
    "Prepared",
    "Problem",
    "Report",
    "UsageError",
    "__version__",
    "draw",
    "open_kitchen",
]


def __getattr__(name: str) -> object:
    """The names of the library, loaded when one of them is first asked for."""
    if name in __all__:
        from platecard import api

        return getattr(api, name)
    raise AttributeError(f"module 'platecard' has no attribute '{name}'")
