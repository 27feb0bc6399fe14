"""Drawing: a display list in millimetres (`scene`), one font measure (`fonts`), two writers (`svg`, `pdf`).

It knows nothing of food, places nothing and chooses nothing.
"""
