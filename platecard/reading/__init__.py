"""Texts to the nouns of the kitchen: a dish from its spec, the kitchen from ``shared/``.

In: texts with their names, from :mod:`platecard.files.reading`.  Out:
:class:`~platecard.model.Dish` and :class:`~platecard.model.Kitchen`, with the
problems found.  A part that does not fit is reported and left out or left unknown,
and reading goes on.
"""

from platecard.reading.dish import dish
from platecard.reading.kitchen import kind_of, kitchen

__all__ = ["dish", "kind_of", "kitchen"]
