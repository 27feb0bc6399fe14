"""The output folder as one transaction: its lock, its record, what may be written where, and what is withdrawn.

What lies in the folder was written by anybody, the record included: it is looked at
without following links, and counts for nothing where it does not fit.
"""
