"""platecard: a plate spec in, a true-scale diagram and a pass card out.

The road is one way: read, check, resolve, compute, draw, write.  Start with
:mod:`platecard.pipeline`; the folder map stands in DEVELOPERS.md.
"""

__version__ = "0.1.0"
