"""What is drawn on a piece so that its food is known: seeds, rings, flakes, grain, crust.

Each face works on any outline, in the piece's own frame: (u, v) are half widths across it
and half lengths along it.  The names stand in ``data/looks.yaml``; what lies loose is in
:mod:`~platecard.documents.diagram.beds`.  The light comes from the upper left.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from platecard.documents.diagram.faces import animals, fruit, kitchen, vegetables
from platecard.documents.diagram.pen import Pen
from platecard.drawing.scene import Item

Face = Callable[[Pen], Iterator[Item]]

FACES: dict[str, Face] = {
    "barred": animals.barred,
    "bevelled": kitchen.bevelled,
    "blistered": kitchen.blistered,
    "browned": vegetables.browned,
    "chanterelle": vegetables.chanterelle,
    "chevrons": animals.chevrons,
    "cored": fruit.cored,
    "cored_round": vegetables.cored_round,
    "cracked": kitchen.cracked,
    "crimped": kitchen.crimped,
    "crowned": fruit.crowned,
    "crumbed": kitchen.crumbed,
    "docked": kitchen.docked,
    "domed": fruit.domed,
    "drupelets": fruit.drupelets,
    "fatty": animals.fatty,
    "fibred": animals.fibred,
    "figged": fruit.figged,
    "flaked": animals.flaked,
    "flecked": kitchen.flecked,
    "florets": vegetables.florets,
    "frozen": kitchen.frozen,
    "glossy": kitchen.glossy,
    "holed": animals.holed,
    "kernels": vegetables.kernels,
    "layered": kitchen.layered,
    "leaved": vegetables.leaved,
    "lobed": vegetables.lobed,
    "locules": vegetables.locules,
    "milky": animals.milky,
    "mushroom": vegetables.mushroom,
    "nutty": fruit.nutty,
    "peel": fruit.peel,
    "petal": vegetables.petal,
    "petals": vegetables.petals,
    "pithy": vegetables.pithy,
    "podded": vegetables.podded,
    "porous": kitchen.porous,
    "prawn": animals.prawn,
    "rays": vegetables.rays,
    "ribbed": vegetables.ribbed,
    "ridged": kitchen.ridged,
    "rinded": animals.rinded,
    "rings": vegetables.rings,
    "rooty": vegetables.rooty,
    "rosy": animals.rosy,
    "scored": animals.scored,
    "seared": animals.seared,
    "seeded": vegetables.seeded,
    "segments": fruit.segments,
    "shellfish": animals.shellfish,
    "shield": vegetables.shield,
    "skinned": animals.skinned,
    "spear": vegetables.spear,
    "stacked": kitchen.stacked,
    "stoned": fruit.stoned,
    "strandy": animals.strandy,
    "strawberry": fruit.strawberry,
    "suckered": animals.suckered,
    "swirled": kitchen.swirled,
    "tapered": vegetables.tapered,
    "toothed": vegetables.toothed,
    "veined": animals.veined,
    "vesicles": fruit.vesicles,
    "yolked": animals.yolked,
}
"""What is drawn on a piece, by the name that the table of looks uses."""

OWN_BODY = frozenset({"chanterelle", "lobed", "mushroom", "petals", "shield", "strawberry", "swirled", "toothed"})
"""The faces that draw a body of their own, as long and as wide as the piece, over a film of its outline."""
