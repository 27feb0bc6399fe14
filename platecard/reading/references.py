"""Where the files of a kitchen name a product, a recipe, a piece of equipment, a plate or a station by its key.

In: the node of one file and what kind of file it is.  Out: the places that have to change with the key.
"""

from __future__ import annotations

from collections.abc import Iterator

from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence

# Where each kind of thing is defined: the kind of file, and the key of the mapping that lists it there.
DEFINED = {
    "product": ("pantry", "products"),
    "equipment": ("kitchen", "equipment"),
    "plate": ("plates", "plates"),
    "station": ("kitchen", "stations"),
}
KINDS = ("product", "recipe", "equipment", "plate", "station")


def places(kind: str, key: str, node: Node, file_kind: str) -> Iterator[Scalar | Mapping]:
    """The scalars that name ``key``, and the mapping that defines it, in the order of the file."""
    yield from _places(kind, key, node, file_kind, ())


def _places(kind: str, key: str, node: Node, file_kind: str, path: tuple[str, ...]) -> Iterator[Scalar | Mapping]:
    if isinstance(node, Scalar):
        if _names(kind, file_kind, path) and (
            node.text == key or (path[-1] == "ingredient" and fold(node.text) == fold(key))
        ):
            yield node
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from _places(kind, key, item, file_kind, path)
    else:
        if (file_kind, path) == (DEFINED.get(kind, ("", ""))[0], DEFINED.get(kind, ("", ""))[1:]) and key in node.keys:
            yield node
        for name, value in node.entries.items():
            yield from _places(kind, key, value, file_kind, (*path, name))


def _names(kind: str, file_kind: str, path: tuple[str, ...]) -> bool:
    """Whether a value at this path of a file names a thing of this kind."""
    last = path[-1] if path else ""
    if kind == "product":
        return last in ("product", "ingredient")  # an ingredient's name can be a product's key
    if kind == "recipe":
        return last == "recipe" and not (file_kind == "recipe" and len(path) == 1)
    if kind == "equipment":
        return last == "equipment" or (last == "on" and "finish" in path)
    return last == kind and (kind != "plate" or path == ("plate",))
