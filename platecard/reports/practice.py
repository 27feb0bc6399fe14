"""``platecard mat`` and ``platecard steps``: drawings for cooks who are learning a plate, as files."""

from __future__ import annotations

import os

from platecard import fingerprint
from platecard.documents.diagram import step_pictures
from platecard.documents.pages import mat as mats
from platecard.prepared import Prepared


def mat(prepared: Prepared, path: str, paper: str = "") -> dict[str, bytes]:
    """The mat as a PDF that asks to be printed without fitting it to the paper: path → bytes.

    ``paper`` names another than the kitchen's.
    """
    from platecard.drawing import pdf

    mark, settings = fingerprint.of(prepared), prepared.world.kitchen.settings
    return {
        path: pdf.write(
            mats.compose(prepared, mark, paper),
            title=f"{_title(prepared)}: mat at 100 %",
            author=settings.called,
            subject="Mat for practice",
            keywords=mark,
            language=settings.language,
            is_true_size=True,
        )
    }


def steps(prepared: Prepared, path: str) -> dict[str, bytes]:
    """The step pictures as a PDF or, if the path ends in .svg, an SVG for each page: path → bytes."""
    from platecard.drawing import pdf, svg

    mark, settings = fingerprint.of(prepared), prepared.world.kitchen.settings
    pages = step_pictures.compose(prepared, mark)
    root, kind = os.path.splitext(path)
    if kind.lower() == ".svg":
        return {
            f"{root}{f'-{n}' if n > 1 else ''}{kind}": svg.write(page).encode("utf-8")
            for n, page in enumerate(pages, 1)
        }
    return {
        path: pdf.write(
            pages,
            title=f"{_title(prepared)}: step by step",
            author=settings.called,
            subject="Step pictures",
            keywords=mark,
            language=settings.language,
        )
    }


def _title(prepared: Prepared) -> str:
    return prepared.dish.title if prepared.dish else prepared.key
