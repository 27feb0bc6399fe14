"""Drawing: a display list in millimetres (`scene`), the bundled font (`fonts`), and two writers (`svg`, `pdf`).

It knows nothing of food, and decides neither what is drawn nor where.
"""
