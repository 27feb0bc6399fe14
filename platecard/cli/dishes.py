"""The commands of the chef: check, build, acknowledge, schema, new."""

from __future__ import annotations

import os
import sys
import time
from argparse import Namespace
from contextlib import AbstractContextManager, nullcontext
from typing import TYPE_CHECKING

from platecard.cli.shared import (
    JSON,
    all_problems,
    as_drafts,
    located,
    named_folder,
    of_drafts,
    one_by_one,
    prepared_menu,
    print_json,
    print_problems,
    project_of,
    tally,
    world_of,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence
    from concurrent.futures import Executor

    from platecard.diagnostics import Problem
    from platecard.files.entries import Entry
    from platecard.files.reading import Project, UsageError
    from platecard.prepared import Prepared, World
    from platecard.publishing.transaction import Report

MAX_JOBS = 64
# Seconds before a person who waits is told how far a build has come.
PATIENCE_S = 2.0


def check(options: Namespace) -> int:
    """``platecard check``: all problems, by place."""
    from platecard.diagnostics import as_data, has_errors, in_order

    project = project_of(options, options.paths, may_be_begun=True)
    world, menu = prepared_menu(project)
    begun = () if project.specs else _library_alone(world)
    problems = in_order([*all_problems(project, world, menu), *begun, *_out_of_date(options.out, menu, project)])
    ideas = of_drafts(project, world, menu)
    shown = as_drafts(problems, ideas)
    if options.format == JSON:
        print_json([as_data(located(p, project)) for p in shown])
    else:
        print_problems(shown, project)
        aside = sum(one.is_draft for one in menu)
        drafts = f" ({aside} of them {'a draft' if aside == 1 else 'drafts'}, off the menu)" if aside else ""
        print(
            f"{len(project.asked)} {'dish' if len(project.asked) == 1 else 'dishes'} checked{drafts}: {tally(problems)}"
        )
    return 1 if has_errors(set(problems) - of_drafts(project, world, menu, project.named)) else 0


def _library_alone(world: World) -> tuple[Problem, ...]:
    """What is wrong with a library before it has a dish, and that it has none."""
    from platecard import pipeline
    from platecard.diagnostics import Span, advice

    none = advice(
        "no-dish-yet",
        Span("specs"),
        "there is no dish yet, so only the library is checked",
        "start one with platecard new NAME",
    )
    return (*pipeline.of_recipes(world), none)


def _out_of_date(out: str, menu: Sequence[Prepared], project: Project) -> tuple[Problem, ...]:
    """What was issued earlier and does not hold any more; nothing is looked up where nothing was issued."""
    if not os.path.isdir(out):
        return ()
    from platecard.publishing import staleness

    read = {s.key for s in project.specs}
    return staleness.check(
        out,
        menu,
        lambda key, spec: key in read or _is_spec_of(key, spec, project.root),
        {s.key for s in project.specs if not s.is_neighbour} == {p.key for p in menu},
    )


_READ_AS = {
    "dish": "read as a dish",
    "draft": "a draft",
    "kitchen": "read as the kitchen",
    "pantry": "read as a pantry",
    "plates": "read as plates",
    "recipe": "read as a recipe",
    "unknown": "NOT READ, or not all of it",
    "nothing": "ignored",
}


def files(options: Namespace) -> int:
    """``platecard files``: what became of every entry of the kitchen's folders."""
    from platecard.diagnostics import has_errors, printable

    project = project_of(options, options.paths)
    account = [(e.file, *found) for e, found in _accounted(project)]
    unknown = sum(counts_as == "unknown" for _, counts_as, _ in account)
    if options.format == JSON:
        print_json(
            [{"file": project.on_disk(file), "counts_as": counts_as, "why": why} for file, counts_as, why in account]
        )
    else:
        for file, counts_as, why in account:
            print(printable(f"{project.on_disk(file)}: {_READ_AS[counts_as]}" + (f" ({why})" if why else "")))
        more = f", {unknown} of them not read: platecard check says what to do" if unknown else ""
        print(f"{len(account)} entries{more}")
    return (
        1
        if unknown or has_errors(set(project.problems) - {p for s in project.specs if s.is_draft for p in s.problems})
        else 0
    )


def _accounted(project: Project) -> Iterator[tuple[Entry, tuple[str, str]]]:
    """Each entry with what it counts as and why; what was opened and cannot be understood may be anything too."""
    from platecard import pipeline

    world = world_of(project)
    lost = {u.name: u.why for u in world.unread}
    for s in project.specs:
        begun = pipeline.begin(s.text, s.file, s.key, world, s.problems)
        if begun.dish is None and begun.marks.counts:
            lost.setdefault(s.file, next((p.message for p in begun.problems), "it is empty"))
    for e in project.account:
        is_lost = e.file in lost and e.counts_as not in ("unknown", "nothing")
        yield e, (("unknown", lost[e.file]) if is_lost else (e.counts_as, e.why))


def build(options: Namespace) -> int:
    """``platecard build``: the documents of the asked dishes, one build at a time."""
    from platecard.diagnostics import has_errors
    from platecard.publishing import lock

    named_folder(options.out, "--out")
    # Before anything is read: what another build issues meanwhile may be made from newer specs.
    with lock.hold(options.out) as faults:
        return _tell_built(options, (), faults, None) if has_errors(faults) else _build(options, faults)


def _build(options: Namespace, faults: tuple[Problem, ...]) -> int:
    from platecard.files.reading import UsageError
    from platecard.publishing import build as builder

    try:
        project = project_of(options, options.paths)
    except UsageError as exc:
        return _build_without_specs(options, faults, exc)
    _not_among_what_is_read(options.out, project)
    known = builder.on_record(options.out)
    # Shared equipment carries a change from dish to dish, so whatever is in the output
    # folder already is brought up to date with the dishes that were asked for.
    with_menu = any(map(os.path.isdir, options.paths or ["specs"])) or builder.MENU in known
    world, menu = one_by_one(project, None if with_menu else {*project.asked, *known})
    read = {s.key for s in project.specs}
    with _executor(options.jobs) as executor, Progress(len(project.specs)) as progress:
        reports = builder.build(
            menu,
            options.out,
            options.draft,
            lambda key, spec: key in read or _is_spec_of(key, spec, project.root),
            options.anew,
            with_menu,
            options.recipes,
            progress.tell,
            executor,
        )
    problems = (*faults, *all_problems(project, world, ()))
    return _tell_built(
        options,
        reports,
        problems,
        project,
        of_drafts(project, world, reports),
        of_drafts(project, world, reports, project.named),
    )


def _executor(jobs: int) -> AbstractContextManager[Executor | None]:
    """The processes that draw; none for one job, which is done here."""
    from platecard.files.reading import UsageError

    if not 1 <= jobs <= MAX_JOBS:
        raise UsageError(f"--jobs {jobs}: give a number of processes from 1 to {MAX_JOBS}")
    if jobs == 1:
        return nullcontext()
    from concurrent.futures import ProcessPoolExecutor

    # Imported once, before processes are made of this one, and not by each of them.
    import svgwrite  # type: ignore[import-untyped]  # noqa: F401
    from reportlab.pdfbase import pdfdoc  # noqa: F401

    from platecard.documents.pages import front_of_house, pass_card, recipe_card  # noqa: F401

    return ProcessPoolExecutor(jobs)


class Progress:
    """How far a build has come, on standard error, where it takes a while and a person is looking."""

    def __init__(self, dishes: int):
        self.dishes, self.done, self.began = dishes, 0, time.monotonic()
        self.is_watched = sys.stderr.isatty()
        self.is_shown = False

    def __enter__(self) -> Progress:
        return self

    def tell(self, report: Report) -> None:
        """One more dish is done."""
        self.done += 1
        if self.is_watched and time.monotonic() - self.began > PATIENCE_S:
            self.is_shown = True
            print(f"\r{min(self.done, self.dishes)} of {self.dishes} dishes", end="", file=sys.stderr, flush=True)

    def __exit__(self, *_: object) -> None:
        if self.is_shown:
            print("\r\033[K", end="", file=sys.stderr, flush=True)


def _build_without_specs(options: Namespace, faults: tuple[Problem, ...], why: UsageError) -> int:
    """The last spec is gone, and what was issued for it no longer holds.  ``why`` is raised where nothing was."""
    from platecard.diagnostics import Span, error
    from platecard.publishing import build as builder

    paths = options.paths or ["specs"]
    is_whole = all(os.path.isdir(p) or not options.paths and not os.path.lexists(p) for p in paths)
    if not is_whole or options.kitchen and not os.path.isdir(options.kitchen) or not builder.on_record(options.out):
        raise why
    root = os.path.dirname(os.path.abspath(options.kitchen)) if options.kitchen else os.getcwd()
    specs = builder.specs_on_record(options.out).items()
    elsewhere = (os.path.dirname(os.path.abspath(options.out)), *_above(root))
    if any(
        _is_spec_of(key, spec, place) and not _is_spec_of(key, spec, root) for key, spec in specs for place in elsewhere
    ):
        raise why  # the specs are where they were, and the command was given in another folder
    if specs and all(_is_spec_of(key, spec, root) for key, spec in specs):
        raise why  # it is something else that is missing
    reports = builder.build((), options.out, is_live=lambda key, spec: _is_spec_of(key, spec, root), with_menu=True)
    said = error(
        "no-specs",
        Span(paths[0]),
        str(why),
        f"write one with platecard new NAME, or move the specs back into {paths[0]}/",
    )
    return _tell_built(options, reports, (*faults, said), None)


def _above(folder: str) -> Iterator[str]:
    """The folders that hold a folder, from the inside out."""
    while (above := os.path.dirname(folder)) != folder:
        yield above
        folder = above


def _is_spec_of(key: str, spec: str, root: str) -> bool:
    """Whether the spec on record for a dish is still there, in a folder that is not on the menu."""
    from platecard.files import entries

    path = os.path.normpath(spec)
    is_inside = bool(spec) and not os.path.isabs(path) and path.split(os.sep)[0] != os.pardir
    return (
        is_inside and entries.is_yaml(path) and entries.stem(path) == key and os.path.isfile(os.path.join(root, path))
    )


def _not_among_what_is_read(out: str, project: Project) -> None:
    """UsageError for an output folder among the specs or in the library.

    Its documents would be taken for files of the kitchen.
    """
    from platecard.files.reading import UsageError

    inner = os.path.realpath(out)
    for shown in {project.folder, *(s.file.rpartition("/")[0] for s in project.specs)} - {"", "."}:
        outer = os.path.realpath(project.on_disk(shown))
        if inner == outer or inner.startswith(outer.rstrip(os.sep) + os.sep):
            raise UsageError(
                f"--out {out}: the documents need a folder of their own, and {shown}/ is part of the kitchen"
            )


def _tell_built(
    options: Namespace,
    reports: Sequence[Report],
    problems: Iterable[Problem],
    project: Project | None,
    ideas: Collection[Problem] = frozenset(),
    forgiven: Collection[Problem] = frozenset(),
) -> int:
    """The report of a build.  ``ideas`` are the problems that only drafts have; those ``forgiven`` do not fail it."""
    from platecard.diagnostics import as_data, has_errors, in_order
    from platecard.publishing.build import MENU
    from platecard.publishing.issued import MAY_CONTAIN

    problems = in_order([*problems, *(p for r in reports for p in r.problems)])
    fails = has_errors(set(problems).difference(forgiven))
    # What a dish may contain now is read first: nothing else in the report touches a guest as soon.
    problems = sorted(as_drafts(problems, ideas), key=lambda p: p.slug != MAY_CONTAIN)
    dishes = [r for r in reports if r.key and r.key != MENU]
    if options.format == JSON:
        told = [{"dish": r.key, "state": r.state, "files": [f.replace(os.sep, "/") for f in r.files]} for r in dishes]
        menus = [
            {"state": r.state, "files": [f.replace(os.sep, "/") for f in r.files]} for r in reports if r.key == MENU
        ]
        print_json(
            {
                "dishes": told,
                "menu": menus[0] if menus else None,
                "problems": [as_data(located(p, project)) for p in problems],
            }
        )
    else:
        print_problems([p for p in problems if p.severity != "advice"], project)
        for report in reports:
            if report.key:
                print(_said(report))
        hidden = sum(p.severity == "advice" for p in problems)
        more = " (platecard check shows the advice)" if hidden else ""
        print(f"{len(dishes)} {'dish' if len(dishes) == 1 else 'dishes'}: {tally(problems)}{more}")
    return 1 if fails else 0


def _said(report: Report) -> str:
    files = ", ".join(f.replace(os.sep, "/") for f in report.files)
    return {
        "written": f"{report.key}: written {files}",
        "unchanged": f"{report.key}: up to date",
        "draft": f"{report.key}: DRAFT written, not for service: {files}",
        "withdrawn": f"{report.key}: WITHDRAWN, its earlier documents are no longer valid and were moved to {files}",
        "withheld": f"{report.key}: no card",
    }[report.state]


def acknowledge(options: Namespace) -> int:
    """``platecard acknowledge``: the record for the chef to read and to write into the spec."""
    from platecard.allergens import acknowledgement
    from platecard.diagnostics import has_errors, one_line

    project = project_of(options, [options.dish])
    world, menu = prepared_menu(project)
    # What the record is for is the one thing that may be wrong with the spec now.
    problems = [p for p in all_problems(project, world, menu) if p.slug not in acknowledgement.SLUGS]
    if has_errors(problems) or not menu[0].statements or menu[0].dish is None:
        for problem in problems:
            if problem.is_error:
                print(one_line(located(problem, project)), file=sys.stderr)
        return 1
    dish, statements = menu[0].dish, menu[0].statements
    number = acknowledgement.next_revision(dish) if acknowledgement.differs(dish, statements) else 0
    day = _day(options.date)
    if options.format == JSON:
        seen = {s.law.key: list(acknowledgement.derived(s)) for s in statements}
        print_json(
            {
                "dish": menu[0].key,
                "revision": {"number": number, "date": day} if number else None,
                "acknowledged": {"revision": number or (dish.revision.number if dish.revision else 1), **seen},
            }
        )
    else:
        print(acknowledgement.record_text(dish, statements, number, day), end="")
    if not number:
        return 0
    earlier = f"revision {dish.acknowledged.revision}" if dish.acknowledged else "the revision"
    print(
        f"{menu[0].key}: the allergens are not those on record for {earlier}, so they need a new revision:"
        " put these lines in place of those in the spec",
        file=sys.stderr,
    )
    return 1


def _day(said: str | None) -> str:
    """The date of a new revision: the one given, or today."""
    from datetime import date

    from platecard.cli.shared import today
    from platecard.files.reading import UsageError

    try:
        return (date.fromisoformat(said) if said else today()).isoformat()
    except ValueError:
        from platecard.schema_words import as_a_day

        raise UsageError(f"--date: '{said}' is not a date; {as_a_day(said or '')}") from None


def schema(options: Namespace) -> int:
    """``platecard schema``: the schema file as it is, of what a kitchen writes or of what a command prints."""
    from platecard import schema as schemas

    is_answer = options.kind in schemas.COMMANDS
    print((schemas.text_of_answer if is_answer else schemas.text)(options.kind), end="")
    return 0


def new(options: Namespace) -> int:
    """``platecard new``: a starter spec, or a small kitchen to start from; never overwrites."""
    from platecard import starter
    from platecard.files.reading import UsageError, read_kitchen

    if options.dish is None:
        written = _write(starter.kitchen())
        print(f"{', '.join(written)} written; next: platecard check")
        return 0
    path = starter.path_of(options.dish)
    if os.path.lexists(path):
        raise UsageError(f"{path} already exists")
    project = read_kitchen(path)
    text = starter.spec(path, world_of(project) if project else None)
    _write(((path, text),))
    print(f"{path} written; next: platecard check {path}")
    return 0


def _write(files: tuple[tuple[str, str], ...]) -> list[str]:
    """Write new files, all of them or none.  UsageError where one is there already or cannot be written."""
    from platecard.files.reading import UsageError

    if there := [path for path, _ in files if os.path.lexists(path)]:
        raise UsageError(f"{', '.join(there)} already {'exists' if len(there) == 1 else 'exist'}; nothing was written")
    written: list[str] = []
    for path, text in files:
        try:
            os.makedirs(os.path.dirname(path) or ".", exist_ok=True)
            with open(path, "x", encoding="utf-8", newline="") as stream:
                written.append(path)
                stream.write(text)
        except OSError as exc:
            for one in written:
                os.unlink(one)
            raise UsageError(f"{path} cannot be written: {exc.strerror}") from None
    return written
