"""What the program knows before any kitchen speaks: taxonomy, laws, ingredients.

All of it is data in ``platecard/data`` with its sources; these modules only read,
check and look up.
"""
