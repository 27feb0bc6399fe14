"""The library that another program uses: read a kitchen, prepare its menu, ask a guest's question, draw.

    import platecard

    kitchen = platecard.open_kitchen("where/the/kitchen/lies")
    for problem in kitchen.problems:
        print(problem.span, problem.message)
    for dish in kitchen.prepare():
        if dish.is_sound:
            for name, data in platecard.draw(dish).items():
                ...

Nothing here prints, writes, reads a clock or changes a setting of the process, so it can be
used from several threads.  Nothing found is no proof of absence: every answer stands on what
was entered (:data:`CAUTION`).
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import Executor
from datetime import date
from typing import NamedTuple

from platecard import pipeline
from platecard.allergens.guests.answers import Answer
from platecard.diagnostics import Problem, in_order
from platecard.documents.text.wording import CAUTION
from platecard.files.reading import Project, UsageError, read_project
from platecard.prepared import Prepared, World
from platecard.publishing import build as builder
from platecard.publishing import lock, rendered
from platecard.publishing.transaction import Report

__all__ = ["CAUTION", "Answer", "OpenKitchen", "Prepared", "Problem", "Report", "UsageError", "draw", "open_kitchen"]


class OpenKitchen(NamedTuple):
    """A kitchen's files as they were read, and what they mean."""

    project: Project
    world: World

    @property
    def dishes(self) -> tuple[str, ...]:
        """The keys of the menu's dishes, drafts among them."""
        return self.project.asked

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is wrong with the library and with the folders; a dish's own problems are in its ``Prepared``."""
        return in_order((*self.project.problems, *self.world.problems))

    def prepare(self) -> tuple[Prepared, ...]:
        """Every dish of the menu: read, derived under each law in force, laid out in mm.

        A dish with errors is among them; ``is_sound`` says whether it may have a card.
        """
        texts = ((s.text, s.file, s.key, s.problems) for s in self.project.specs)
        return tuple(pipeline.prepare_menu(texts, self.world, self.project.asked))

    def ask(self, avoid: str, eats: str = "", dishes: Sequence[str] = ()) -> dict[str, Answer | None]:
        """The answer to a guest for each dish, or for those named: dish → answer.

        ``avoid`` is what the guest says, as in "hazelnut, shellfish"; ``eats`` what they eat all
        the same.  None stands for a dish that cannot be answered for.  ValueError for a word that
        is not understood: it says which, and what may be meant.
        """
        from platecard.reports import guest_answers

        avoids, problems = guest_answers.avoids(avoid, self.world, eats)
        if problems:
            raise ValueError("; ".join(" ".join((p.message, *p.hints)) for p in problems))
        menu = tuple(pipeline.begin(s.text, s.file, s.key, self.world, s.problems) for s in self.project.specs)
        asked = tuple(
            b.key for b in menu if b.key in (dishes or self.project.asked) and (dishes or not b.marks.is_draft)
        )
        return {begun.key: answer for begun, answer in guest_answers.answer_all(menu, asked, avoids, self.world)}

    def build(self, out: str | os.PathLike[str], executor: Executor | None = None) -> tuple[Report, ...]:
        """Write the documents of the menu below ``out``, as ``platecard build`` does; the workers of ``executor`` draw.

        OSError where the folder cannot be locked: another build is at work there, or it cannot be written.
        """
        folder = os.fspath(out)
        with lock.hold(folder) as faults:
            if faults:
                raise OSError("; ".join(p.message for p in faults))
            return builder.build(self.prepare(), folder, with_menu=True, executor=executor)


def open_kitchen(folder: str | os.PathLike[str] = ".", day: date | None = None) -> OpenKitchen:
    """Read the kitchen in ``folder``: its dishes in ``specs/``, its library in ``shared/``.

    ``day`` is today, for the age of labels; without it no label is called old.
    UsageError where there are no dishes, or the folder cannot be read.
    """
    root = os.fspath(folder)
    project = read_project([os.path.join(root, "specs")], os.path.join(root, "shared"))
    world = pipeline.in_doubt(pipeline.world(project.library, project.folder, (), day), project.unread)
    return OpenKitchen(project, world)


def draw(dish: Prepared, with_recipes: bool = False) -> dict[str, bytes]:
    """The documents of one sound dish: file name → bytes (SVG and PDF).  ValueError for one that is not sound."""
    if not dish.is_sound:
        raise ValueError(f"{dish.key} has errors and gets no card")
    return rendered.render(rendered.laid(dish), with_recipes=with_recipes)
