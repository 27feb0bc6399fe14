"""The commands that draw on request: the mat, the plating steps, two revisions side by side."""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from collections.abc import Callable
from typing import TYPE_CHECKING

from platecard.cli.shared import JSON, all_problems, located, named_file, prepared_menu, print_json, project_of, report

if TYPE_CHECKING:
    from platecard.files.reading import Project
    from platecard.prepared import Prepared
    from platecard.reports.compare import Side


def mat(options: Namespace) -> int:
    """``platecard mat``: the plate at 100 %, on as many sheets as it takes."""
    from functools import partial

    from platecard.documents.pages.mat import PAPERS
    from platecard.files.reading import UsageError
    from platecard.reports import practice

    known = {name.casefold(): name for name in PAPERS}
    paper = known.get((options.paper or "").casefold(), "")
    if options.paper and not paper:
        raise UsageError(f"--paper {options.paper}: no such paper; there are {', '.join(PAPERS)}")
    return _trained(options, "mat", partial(practice.mat, paper=paper), ".pdf")


def steps(options: Namespace) -> int:
    """``platecard steps``: the plating sequence in small pictures."""
    from platecard.reports import practice

    return _trained(options, "steps", practice.steps, ".pdf", ".svg")


def _trained(options: Namespace, name: str, draw: Callable[[Prepared, str], dict[str, bytes]], *endings: str) -> int:
    """One dish drawn for those who learn to plate it, if it is sound."""
    from platecard.files.reading import UsageError
    from platecard.publishing.single_file import write_file

    named_file(options.out, "--out", *endings)
    project = project_of(options, [options.dish])
    if len(project.asked) != 1:
        raise UsageError("name one dish")
    world, menu = prepared_menu(project)
    problems = [p for p in all_problems(project, world, menu) if p.is_error]
    files = []
    if menu and menu[0].is_sound and not any(p.withholds for p in problems):
        for path, data in draw(menu[0], options.out or f"{menu[0].key}-{name}.pdf").items():
            faults = write_file(path, data)
            problems += faults
            files += [] if faults else [path.replace(os.sep, "/")]
    report(problems, project)
    if options.format == JSON:
        from platecard.diagnostics import as_data

        print_json(
            {
                "dish": menu[0].key if menu else options.dish,
                "files": files,
                "problems": [as_data(located(p, project)) for p in problems],
            }
        )
    elif files:
        print(f"written: {', '.join(files)}")
    return 1 if problems or not files else 0


def compare(options: Namespace) -> int:
    """``platecard compare``: what changed between two dishes, or since an earlier copy of one."""
    from dataclasses import replace

    from platecard.diagnostics import has_errors, printable
    from platecard.diff import dishes
    from platecard.publishing.single_file import write_file
    from platecard.reports import compare

    named_file(options.out, "--out", ".svg", ".pdf")
    sides = _sides(options)
    old, new = compare.before(*sides), sides[1]
    was, now = (prepared_menu(side.project)[1][0] for side in (old, new))
    # A file of the library or a neighbour that cannot be read leaves a dish in doubt as well.
    was, now = (
        replace(one, problems=all_problems(side.project, one.world, (one,))) for one, side in ((was, old), (now, new))
    )
    found = dishes.compare(was, now)
    if options.format == JSON:
        print_json(compare.as_data(old, new, found))
    else:
        print("\n".join(printable(line) for line in compare.in_words(old, new, was, now, found)))
    faults = tuple(
        dict.fromkeys(side.located(p) for one, side in ((was, old), (now, new)) for p in one.problems if p.is_error)
    )
    if options.out:
        picture = compare.picture(options.out, old, new, was, now, found)
        faults += tuple(located(p, new.project) for p in write_file(options.out, picture))
    for problem in faults:
        from platecard.diagnostics import one_line

        print(one_line(problem), *(f"  {printable(h)}" for h in problem.hints), sep="\n", file=sys.stderr)
    return 1 if has_errors(faults) or found.alarms else 0


def _sides(options: Namespace) -> tuple[Side, Side]:
    """The two that are compared, the older first."""
    from platecard.files.reading import UsageError

    asked = [said for said in (options.new, options.was, options.as_of) if said is not None]
    if len(asked) != 1:
        raise UsageError("name two dishes, or one with --was NUMBER or --as-of DAY")
    if options.new is not None:
        return _side(options.old, options), _side(options.new, options)
    return _earlier(options), _side(options.old, options)


def _side(said: str, options: Namespace) -> Side:
    """A dish as it is now."""
    return _one_dish(said, project_of(options, [said]))


def _earlier(options: Namespace) -> Side:
    """The dish as it was under an earlier revision, or on a day."""
    from datetime import date

    from platecard.files import earlier
    from platecard.files.reading import UsageError

    if options.was is not None:
        then = f"revision {options.was}"
        return _one_dish(options.old, earlier.of_number(options.old, options.was, options.kitchen), then)
    try:
        day = date.fromisoformat(options.as_of)
    except ValueError:
        from platecard.schema_words import as_a_day

        raise UsageError(f"--as-of: '{options.as_of}' is not a date; {as_a_day(options.as_of)}") from None
    return _one_dish(options.old, earlier.as_of(options.old, day, options.kitchen), f"as of {day.isoformat()}")


def _one_dish(said: str, project: Project, then: str = "") -> Side:
    from platecard.files.reading import UsageError
    from platecard.reports.compare import Side

    if len(project.asked) != 1:
        raise UsageError(f"{said}: name one dish")
    return Side(f"{said}, {then}" if then else said, project, then)
