"""What changed between two revisions of a dish: ``allergens``, ``plates``, ``recipes``, ``service``.

Each of these modules takes two prepared dishes and yields :class:`~platecard.diff.change.Change`
values; ``matching`` says which component and which step of one is which of the other.
Nothing is opened or printed.  :mod:`platecard.diff.dishes` puts it all together.
"""
