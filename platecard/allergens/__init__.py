"""From the resolved dish to what a guest is told.

traces     what is in each thing, and how it got there, before any law is asked
sulphites  sulphur dioxide by arithmetic, the sum shown
contact    what shared equipment hands on
statement  traces and a law to findings, each with its reasons
"""
