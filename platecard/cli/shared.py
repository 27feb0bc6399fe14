"""What the commands share: the project and its menu, problems with paths as they open from here, JSON."""

from __future__ import annotations

import sys

TYPE_CHECKING = False
if TYPE_CHECKING:  # for type checkers alone, so that the help imports none of it
    from argparse import Namespace
    from collections.abc import Collection, Iterable, Iterator, Sequence
    from datetime import date
    from typing import Any

    from platecard.diagnostics import Problem, Span
    from platecard.files.reading import Project, Spec
    from platecard.prepared import Begun, Prepared, World
    from platecard.publishing.transaction import Report

TEXT, JSON = "text", "json"


def project_of(options: Namespace, paths: list[str], may_be_begun: bool = False) -> Project:
    """The project that the options name; ``may_be_begun``: a folder without dishes will do."""
    from platecard.files.reading import read_project

    return read_project(paths, options.kitchen, may_be_begun)


def world_of(project: Project, laws: tuple[str, ...] = ()) -> World:
    """The kitchen's world; a file of its library that cannot be read is a fault of every dish."""
    from platecard import pipeline

    return pipeline.in_doubt(pipeline.world(project.library, project.folder, laws, today()), project.unread)


def prepared_menu(project: Project, laws: tuple[str, ...] = ()) -> tuple[World, tuple[Prepared, ...]]:
    """The asked dishes, prepared, and the kitchen's world."""
    from platecard import pipeline

    world = world_of(project, laws)
    texts = ((s.text, s.file, s.key, s.problems) for s in project.specs)
    return world, pipeline.prepare_menu(texts, world, project.asked)


def one_by_one(project: Project, keys: Collection[str] | None) -> tuple[World, Iterator[Prepared]]:
    """The kitchen's world, and the dishes named by ``keys``, each prepared when its turn comes.

    None stands for all of the menu that was asked for.
    """
    from platecard import pipeline

    world = world_of(project)

    def begin(spec: Spec) -> Begun:
        try:
            return pipeline.begin(spec.text, spec.file, spec.key, world, spec.problems)
        except Exception as exc:  # whatever it is, it is this dish's
            return pipeline.not_begun(spec.file, spec.key, exc)

    begun = [begin(s) for s in project.specs]
    shared, counted = pipeline.shared_equipment(begun, world), pipeline.counted(begun, world)
    menu = {s.key for s in project.specs if not s.is_neighbour}
    waiting = [b for b in reversed(begun) if b.key in (menu if keys is None else keys)]
    del begun

    def finished() -> Iterator[Prepared]:
        while waiting:  # taken off the list, so that a dish is gone when its documents are written
            one = waiting.pop()
            try:
                yield pipeline.finish(one, shared, world, counted)
            except Exception as exc:  # whatever it is, it is this dish's
                yield pipeline.not_finished(one, world, exc)

    return world, finished()


def today() -> date:
    """The day, for the age of labels alone: no document depends on it."""
    from datetime import date

    return date.today()


def named_file(said: str | None, option: str, *endings: str) -> None:
    """A file to be written ends in what it will be.  UsageError for any other: it may be somebody's work."""
    import os

    from platecard.files.reading import UsageError

    if said and os.path.splitext(said)[1].lower() not in endings:
        raise UsageError(f"{option} {said}: name a file that ends in {' or '.join(endings)}")


_ENDINGS_OF_FILES = (".yaml", ".yml", ".svg", ".pdf", ".json", ".csv", ".html")


def named_folder(said: str | None, option: str) -> None:
    """A folder to write to, which no file's name is meant for.  UsageError where it is."""
    import os

    from platecard.files.reading import UsageError

    if said and os.path.splitext(said.rstrip("/" + os.sep))[1].lower() in _ENDINGS_OF_FILES and not os.path.isdir(said):
        raise UsageError(f"{option} {said}: name a folder; the files written there have names of their own")


def all_problems(project: Project, world: World, menu: Iterable[Prepared | Report]) -> tuple[Problem, ...]:
    """The problems of the files, the library and the dishes, each once, in order."""
    from platecard.diagnostics import in_order

    return in_order([*project.problems, *world.problems, *(p for one in menu for p in one.problems)])


def of_drafts(
    project: Project, world: World, menu: Iterable[Prepared | Report], but: Collection[str] = ()
) -> set[Problem]:
    """The problems that only drafts have, those of the keys in ``but`` left out: no dish of the menu waits for them."""
    theirs: set[Problem] = set()
    others = {*world.problems, *project.unread}
    for one in (*project.specs, *menu):
        (theirs if one.is_draft and one.key not in but else others).update(one.problems)
    return theirs - others


def as_drafts(problems: Iterable[Problem], drafts: Collection[Problem]) -> list[Problem]:
    """The problems with those of drafts marked as such."""
    from dataclasses import replace

    return [replace(p, message=f"draft: {p.message}") if p in drafts else p for p in problems]


def located(problem: Problem, project: Project | None) -> Problem:
    """The problem with its path as it can be opened from here; ``project`` is None where none could be read."""
    import os
    from dataclasses import replace

    span = problem.span
    if span is None or span.file.startswith("platecard/data/"):
        return problem
    return replace(
        problem, span=span._replace(file=project.on_disk(span.file) if project else os.path.relpath(span.file))
    )


def print_problems(problems: Iterable[Problem], project: Project | None) -> None:
    """Print problems to standard error, with the lines that they are about."""
    from platecard.diagnostics import render

    sources = {project.on_disk(k): v for k, v in project.sources().items()} if project else {}
    for problem in problems:
        print(render(located(problem, project), sources))


def tally(problems: Sequence[Problem]) -> str:
    """How many problems there are of each severity, in words."""
    counts = {kind: sum(p.severity == kind for p in problems) for kind in ("error", "warning", "advice")}
    words = [f"{n} {kind}{'s' if n != 1 and kind != 'advice' else ''}" for kind, n in counts.items() if n]
    return ", ".join(words) or "no problems"


def print_json(data: object) -> None:
    """Print data as JSON, indented, in UTF-8."""
    import json

    print(json.dumps(data, indent=1, ensure_ascii=False))


def place_of(span: Span | None, project: Project) -> dict[str, Any]:
    """The ``file`` and ``line`` of a span as they can be opened from here; both None without a span."""
    if span is None:
        return {"file": None, "line": None}
    file = span.file if span.file.startswith("platecard/data/") else project.on_disk(span.file)
    return {"file": file, "line": span.line}


def report(problems: Iterable[Problem], project: Project | None) -> None:
    """Problems on standard error, where the answer itself is on standard output."""
    from platecard.diagnostics import one_line, printable

    for problem in problems:
        print(
            one_line(located(problem, project)),
            *(f"  {printable(h)}" for h in problem.hints),
            sep="\n",
            file=sys.stderr,
        )
