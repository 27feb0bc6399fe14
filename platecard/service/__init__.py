"""From one plate to tonight's service: what to make, when to start it, what to mind.

Everything here follows from the same specs; nothing is opened or printed.
"""
