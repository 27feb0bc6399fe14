"""The starter spec that ``platecard new`` writes."""

from __future__ import annotations

import os

from platecard.files.entries import is_key
from platecard.files.reading import UsageError
from platecard.package_data import read_text


def path_and_text(dish: str) -> tuple[str, str]:
    """The path and the text of a new spec, for a dish's name or a path that ends in .yaml; UsageError for any other."""
    folder, name = os.path.split(dish)
    stem = name[: -len(".yaml")] if name.endswith(".yaml") else name
    if not is_key(stem):
        raise UsageError(f"'{stem}' cannot be a dish's name: small letters, digits and hyphens, such as lamb-pea")
    if folder and not name.endswith(".yaml"):
        raise UsageError(f"'{dish}' is neither a name nor a path that ends in .yaml")
    path = os.path.join(folder or "specs", stem + ".yaml")
    return path, read_text("starter.yaml").replace("DISH TITLE", stem.replace("-", " ").capitalize())
