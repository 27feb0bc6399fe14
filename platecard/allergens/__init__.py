"""From the resolved dish to what a guest is told.

traces           what is in each thing and how it got there, before any law is asked
sulphites        sulphur dioxide by arithmetic, with the sum shown
passage          which food goes through which equipment, and in which order
residue          what stays in equipment, sorted once for everything that goes through it
cross_contact    what shared equipment passes on, to the end of every chain
statement        traces and a law to findings, each with its reasons
basis            what a dish's documents rely on: files, menu, labels, and what was left unread
acknowledgement  what came in or went out since the chef last looked
claims           claims of absence in the words a chef writes
named_foods      foods that a text names and that are not in the dish or recipe
swap_checks      whether a swap helps the guest it is offered to
explanation      why an allergen is on a plate, in plain sentences
labels/          the text of a label: read, compared with the kitchen's lists, and what it leaves open
guests/          what a guest asks for, and whether a dish can be served as it is, changed, or not at all
"""
