"""From the resolved dish to what a guest is told.

traces     what is in each thing, and how it got there, before any law is asked
sulphites  sulphur dioxide by arithmetic, the sum shown
passage    which food goes through which equipment, and what before what
residue    what stays in equipment, sorted once for all who go through it
contact    what shared equipment hands on, to the end of every chain
statement  traces and a law to findings, each with its reasons
label_*    a label's text, and where it, the product's name and the kitchen's lists differ
guard      what came in since the chef last looked
guest      as it is, changed, or not at all, for what a guest must avoid
offers     whether a swap helps the guest whom it is offered to
why        why an allergen is on a plate, in plain sentences
"""
