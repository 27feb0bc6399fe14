"""What the program knows before it reads a kitchen's files: taxonomy, laws, ingredients, guests' words.

All of it is data in ``platecard/data``, with its sources; these modules read it, check it
and look things up in it.
"""
