"""The commands of tonight's service: preparation, cost, scaling, the fire timeline, cautions."""

from __future__ import annotations

import sys
from argparse import Namespace

from platecard.cli.shared import (
    JSON,
    all_problems,
    located,
    named_file,
    place_of,
    prepared_menu,
    print_json,
    project_of,
    report,
    world_of,
)


def prep(options: Namespace) -> int:
    """``platecard prep``: the preparation list and the order list."""
    from platecard import pipeline
    from platecard.diagnostics import has_errors
    from platecard.files.reading import UsageError, read_one
    from platecard.publishing.single_file import write_file
    from platecard.reports import prep_sheet

    named_file(options.pdf, "--pdf", ".pdf")
    project = project_of(options, [])
    world = world_of(project)
    keys = [s.key for s in project.specs]
    asked, problems = prep_sheet.covers(options.covers, keys)
    if options.covers_file:
        more, faults = prep_sheet.covers_file(read_one(options.covers_file), options.covers_file, keys)
        asked, problems = (
            {k: asked.get(k, 0) + more.get(k, 0) for k in (*asked, *(k for k in more if k not in asked))},
            (*problems, *faults),
        )
    on, faults = prep_sheet.day(options.date)
    problems = (*problems, *faults)
    if not problems and not asked:
        raise UsageError("name the covers, for example --covers " + (f"{keys[0]}=24" if keys else "DISH=24"))
    if has_errors(problems):
        report(problems, project)
        return 1
    menu = (pipeline.begin(s.text, s.file, s.key, world, s.problems) for s in project.specs if s.key in asked)
    work, faults = prep_sheet.work(menu, asked, world, on)
    if options.format == JSON:
        print_json(prep_sheet.as_data(work, lambda span: place_of(span, project)))
    elif options.format == "csv":
        print(prep_sheet.as_csv(work), end="")
    else:
        from platecard.diagnostics import printable

        print("\n".join(printable(line) for line in prep_sheet.in_words(work, lambda span: place_of(span, project))))
    problems = tuple(p for p in (*project.problems, *world.problems, *faults) if p.is_error)
    if options.pdf:
        problems += write_file(options.pdf, prep_sheet.as_pdf(work))
    report(problems, project)
    return 1 if problems else 0


def cost(options: Namespace) -> int:
    """``platecard cost``: what one plate costs."""
    from platecard import pipeline
    from platecard.diagnostics import printable
    from platecard.files.reading import UsageError
    from platecard.reports import prep_sheet

    project = project_of(options, [options.dish])
    if len(project.asked) != 1:
        raise UsageError("name one dish")
    world = world_of(project)
    (begun,) = (
        pipeline.begin(s.text, s.file, s.key, world, s.problems) for s in project.specs if s.key == project.asked[0]
    )
    found = prep_sheet.cost_of(begun, world.kitchen)
    if options.format == JSON:
        print_json(prep_sheet.cost_as_data(begun, found, lambda span: place_of(span, project)))
    else:
        print(
            "\n".join(
                printable(line) for line in prep_sheet.cost_in_words(begun, found, lambda span: place_of(span, project))
            )
        )
    problems = tuple(p for p in (*project.problems, *world.problems, *begun.problems) if p.is_error)
    report(problems, project)
    return 1 if problems else 0


def scale(options: Namespace) -> int:
    """``platecard scale``: one recipe to a target yield."""
    from platecard.diagnostics import has_errors, printable
    from platecard.files.reading import UsageError
    from platecard.reports import scaled_recipe

    recipe, target = options.recipe, options.to
    if recipe is None and len(target) > 1:  # the recipe may stand last, behind the words of the amount
        *target, recipe = target
    if recipe is None:
        raise UsageError("RECIPE is missing; add it")
    project = project_of(options, [])
    world = world_of(project)
    found, problems = scaled_recipe.to(recipe, " ".join(target), world)
    system = world.kitchen.settings.amounts
    if found is not None and options.format == JSON:
        print_json(scaled_recipe.as_data(found, system))
    elif found is not None:
        print("\n".join(printable(line) for line in scaled_recipe.in_words(found, system)))
    report(problems, project)
    return 1 if found is None or has_errors(problems) else 0


def fire(options: Namespace) -> int:
    """``platecard fire``: the timeline of one table."""
    from platecard import pipeline
    from platecard.diagnostics import as_data, has_errors
    from platecard.files.reading import UsageError
    from platecard.reports import fire_times

    try:
        wanted = fire_times.asked(options.dishes)
        given = fire_times.time_of_day(options.at, options.called)
    except ValueError as exc:
        raise UsageError(str(exc)) from None
    project = project_of(options, [path for path, _ in wanted])
    world = world_of(project)
    table = fire_times.plates(
        wanted,
        [pipeline.begin(s.text, s.file, s.key, world, s.problems) for s in project.specs if s.key in project.asked],
    )
    schedule, problems = fire_times.work_out(table, world, project.problems)
    at_s = fire_times.leaves_at(schedule, given) if schedule else None
    if options.format == JSON:
        print_json(
            fire_times.as_data(
                schedule, at_s, [as_data(located(p, project)) for p in problems], lambda span: place_of(span, project)
            )
        )
    elif schedule and options.format == "svg":
        from platecard.documents.pages import fire_timeline
        from platecard.drawing import svg

        print(svg.write(fire_timeline.picture(schedule, at_s, world.kitchen.settings.language)), end="")
    elif schedule:
        from platecard.diagnostics import printable

        print("\n".join(printable(line) for line in fire_times.in_words(schedule, at_s)))
    report(problems, project)
    if schedule is None and not has_errors(problems):
        print(fire_times.nothing(one.dish.title for one, _ in table if one.dish), file=sys.stderr)
    return 1 if schedule is None or has_errors(problems) else 0


def cautions(options: Namespace) -> int:
    """``platecard cautions``: what to mind, by rule, with its sources."""
    from platecard.diagnostics import has_errors, printable
    from platecard.files.reading import UsageError
    from platecard.reports import fire_times

    project = project_of(options, [options.dish])
    if len(project.asked) > 1:
        raise UsageError("name one dish")
    world, menu = prepared_menu(project)
    problems = all_problems(project, world, menu)
    general = world.cautioner.rules.general
    if menu and menu[0].dish is not None and menu[0].resolved is not None:
        if options.format == JSON:
            print_json(
                fire_times.cautions_as_data(
                    menu[0].key, menu[0].cautions, world.cautioner.codes, general, lambda span: place_of(span, project)
                )
            )
        else:
            print(
                "\n".join(
                    printable(line)
                    for line in fire_times.cautions_in_words(menu[0].dish.title, menu[0].cautions, general)
                )
            )
    report([p for p in problems if p.is_error], project)
    return 1 if has_errors(problems) else 0
