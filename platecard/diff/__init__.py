"""What changed, subject by subject: ``allergens``, ``plate``, ``recipes``, ``service``.

Each takes two prepared dishes and gives :class:`~platecard.diff.change.Change`
values; ``matching`` says which component and which step is which.  All of it is
pure.  :mod:`platecard.diff.dishes` puts it together.
"""
