"""Where each piece lies on the plate, and whether it may lie there: plain geometry, no drawing.

:mod:`~platecard.layout.arrange` turns a dish's steps into footprints in millimetres, and
:mod:`~platecard.layout.checks` judges them.  The origin is the middle of the plate, with
x to the right and y away from the guest; angles run clockwise from 12 o'clock.
"""
