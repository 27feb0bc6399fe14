"""The commands that draw on request: the mat, the plating steps, two revisions side by side."""

from __future__ import annotations

import os
import sys

from .shared import JSON, all_problems, located, named_file, prepared_menu, print_json, project_of, report


def mat(options) -> int:
    """``platecard mat``: the plate at 100 %, on as many sheets as it takes."""
    from .. import training

    return _trained(options, "mat", training.mat, ".pdf")


def steps(options) -> int:
    """``platecard steps``: the plating sequence in small pictures."""
    from .. import training

    return _trained(options, "steps", training.steps, ".pdf", ".svg")


def _trained(options, name: str, draw, *endings: str) -> int:
    """One dish drawn for those who learn to plate it, if it is sound."""
    from ..files import UsageError
    from ..output.single import write_file

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
        from ..problems import as_data

        print_json({"dish": menu[0].key if menu else options.dish, "files": files, "problems": [as_data(located(p, project)) for p in problems]})
    elif files:
        print(f"written: {', '.join(files)}")
    return 1 if problems or not files else 0


def compare(options) -> int:
    """``platecard compare``: what changed between two files, or two revisions in git."""
    from dataclasses import replace

    from .. import comparing, gitfiles, revisions
    from ..files import UsageError
    from ..output.single import write_file
    from ..problems import has_errors, printable

    named_file(options.out, "--out", ".svg", ".pdf")
    sides = []
    for said in (options.old, options.new):
        named = gitfiles.split(said)
        project = gitfiles.read_project(*named, options.kitchen) if named else project_of(options, [said])
        if len(project.asked) != 1:
            raise UsageError(f"{said}: name one dish")
        sides.append(comparing.Side(said, project, named[0] if named else ""))
    old, new = comparing.before(*sides), sides[1]
    was, now = (prepared_menu(side.project)[1][0] for side in (old, new))
    # A file of the library or a neighbour that cannot be read leaves a dish in doubt as well.
    was, now = (replace(one, problems=all_problems(side.project, one.world, (one,))) for one, side in ((was, old), (now, new)))
    found = revisions.compare(was, now)
    if options.format == JSON:
        print_json(comparing.as_data(old, new, found))
    else:
        print("\n".join(printable(line) for line in comparing.in_words(old, new, was, now, found)))
    faults = tuple(dict.fromkeys(side.located(p) for one, side in ((was, old), (now, new)) for p in one.problems if p.is_error))
    if options.out:
        picture = comparing.picture(options.out, old, new, was, now, found)
        faults += tuple(located(p, new.project) for p in write_file(options.out, picture))
    for problem in faults:
        from ..problems import one_line

        print(one_line(problem), *(f"  {printable(h)}" for h in problem.hints), sep="\n", file=sys.stderr)
    return 1 if has_errors(faults) or found.alarms else 0
