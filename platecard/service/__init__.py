"""From one plate to a whole service: what to make, when to start it, what to watch for.

Everything here follows from the same specs; no file is opened and nothing is printed.
"""
