"""The command line: reads arguments, prints, sets the exit code.  The only printer.

Exit: 0 no errors, 1 errors, 2 usage.  Heavy parts are imported inside each command,
so that ``--help`` stays quick.
"""

from __future__ import annotations

import argparse
import os
import sys

TEXT, JSON = "text", "json"


def run(arguments: list[str]) -> int:
    """Run one command line."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return 2
    from .files import UsageError

    for stream in (sys.stdout, sys.stderr):
        # A terminal that lacks a letter gets it spelt out.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        return options.do(options)
    except KeyboardInterrupt:
        print("platecard: interrupted", file=sys.stderr)
        return 1
    except UsageError as exc:
        print(f"platecard: {exc}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        # Whoever was reading has gone; that is no fault of the kitchen's.
        sys.stdout = open(os.devnull, "w")
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="platecard", description="A plate spec in; a true-scale diagram, a pass card and derived allergens out.")
    parser.add_argument("--version", action="store_true", help="print the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    def command(name: str, do, help: str, *, paths: bool = False, dish: bool = False, reports: bool = True):
        one = commands.add_parser(name, help=help, description=help[0].upper() + help[1:] + ".")
        one.set_defaults(do=do)
        if paths:
            one.add_argument("paths", nargs="*", metavar="PATH", help="spec files, folders or dish names (default: specs/)")
        if dish:
            one.add_argument("dish", metavar="DISH", help="a spec file, or the name of a dish in specs/")
        if reports:
            one.add_argument("--format", choices=(TEXT, JSON), default=TEXT, help="text for people, json for other programs")
            one.add_argument("--kitchen", metavar="DIR", help="the kitchen's library (default: the nearest shared/)")
        return one

    command("check", check, "read, validate, derive and lay out; print every problem", paths=True)
    one = command("build", build, "write the documents of every dish", paths=True)
    one.add_argument("--out", metavar="DIR", default="output", help="where they go (default: output/)")
    one.add_argument("--draft", action="store_true", help="draw unsound dishes too, struck across with DRAFT")
    one.add_argument("--recipes", action="store_true", help="the recipe cards of each dish as well")
    one.add_argument("--anew", action="store_true", help="draw even what is up to date")
    one = command("allergens", allergens, "say what each law declares of a dish, and why", dish=True)
    one.add_argument("--law", metavar="NAME", help="one law only, in force here or not")
    one.add_argument("--why", metavar="ALLERGEN", help="tell the chain for one allergen in plain sentences")
    one = command("guest", guest, "answer for a guest: as it is, changed, or not at all")
    one.add_argument("dish", metavar="DISH", nargs="?", help="a spec file, or the name of a dish in specs/ (default: every dish)")
    one.add_argument("--avoid", metavar="LIST", required=True, help="what the guest must avoid, as in egg,fish")
    one.add_argument("--out", metavar="DIR", help="write the changed plate of DISH there: its diagram and its card")
    one.add_argument("--card", metavar="FILE", help="write the card of the changed plate of DISH to this file")
    command("acknowledge", acknowledge, "print the allergens declared now, as the record to write into the spec", dish=True)
    one = command("prep", prep, "list what to make and what to order for the covers booked", reports=False)
    one.add_argument("--covers", metavar="DISH=N", nargs="+", action="extend", default=[], help="covers of each dish")
    one.add_argument("--covers-file", metavar="FILE", help="a file of DISH: N lines")
    one.add_argument("--date", metavar="YYYY-MM-DD", help="the day of service, so that the days before have dates")
    one.add_argument("--pdf", metavar="FILE", help="write both lists to this file as well")
    one.add_argument("--format", choices=(TEXT, JSON, "csv"), default=TEXT, help="text for people, json for other programs, csv for spreadsheets")
    one.add_argument("--kitchen", metavar="DIR", help="the kitchen's library (default: the nearest shared/)")
    command("cost", cost, "say what a plate costs, part by part, as far as the pantry has prices", dish=True)
    one = command("scale", scale, "scale a recipe to what is wanted of it", reports=True)
    one.add_argument("recipe", metavar="RECIPE", help="a recipe, by its file name in shared/recipes")
    one.add_argument("--to", metavar="AMOUNT", required=True, help="how much of it is wanted, as in '2.4 kg'")
    for name, do, said in (("mat", mat, "draw the plate at its true size on the kitchen's paper, to practise on"),
                           ("steps", steps, "draw the plating sequence, one small picture for each step")):
        one = command(name, do, said, dish=True)
        one.add_argument("--out", metavar="FILE", help=f"where it goes (default: DISH-{name}.pdf here)" + ("; a name in .svg gets SVG" if name == "steps" else ""))
    one = command("fire", fire, "say when each finishing step starts, worked backwards from the plate", reports=False)
    one.add_argument("dishes", nargs="+", metavar="DISH[=N]", help="dishes of one table, with how many plates of each")
    one.add_argument("--at", metavar="HH:MM", help="when the plates leave the pass")
    one.add_argument("--called", metavar="HH:MM", help="when the table is fired; says when the plates leave")
    one.add_argument("--format", choices=(TEXT, JSON, "svg"), default=TEXT, help="text for people, json for other programs, svg for a picture")
    one.add_argument("--kitchen", metavar="DIR", help="the kitchen's library (default: the nearest shared/)")
    command("cautions", cautions, "say what to mind about a dish: temperatures, raw and lightly cooked food, holding, cooling", dish=True)
    one = command("compare", compare, "say what changed between two revisions of a dish, allergens first")
    one.add_argument("old", metavar="OLD", help="a spec file, the name of a dish, or one as it stood in git: HEAD~1:specs/lamb-pea.yaml")
    one.add_argument("new", metavar="NEW", help="the same, for what it is now")
    one.add_argument("--out", metavar="FILE", help="draw the two plates side by side into this .svg or .pdf as well")
    one = command("schema", schema, "print a JSON Schema, for editors", reports=False)
    one.add_argument("kind", nargs="?", default="dish", choices=("dish", "kitchen", "recipe", "pantry", "plates"))
    one = command("new", new, "write a commented starter spec", dish=True, reports=False)
    return parser


# --------------------------------------------------------------------------- what commands share


def _project(options, paths: list[str]):
    from .files import read_project

    return read_project(paths, options.kitchen)


def _world(project, laws: tuple[str, ...] = ()):
    """The kitchen's world; a file of its library that cannot be read is a fault of every dish."""
    from dataclasses import replace

    from . import pipeline
    from .problems import in_order

    world = pipeline.world(project.library, project.folder, laws, _today())
    return replace(world, problems=in_order([*world.problems, *project.unread]))


def _menu(project, laws: tuple[str, ...] = ()):
    """The asked dishes, prepared, and the kitchen's world."""
    from . import pipeline

    world = _world(project, laws)
    texts = ((s.text, s.file, s.key) for s in project.specs)
    return world, pipeline.prepare_menu(texts, world, project.asked)


def _one_by_one(project, keys):
    """The dishes named by ``keys`` (None: all), each prepared when its turn comes, and the kitchen's world."""
    from . import pipeline

    world = _world(project)
    begun = [pipeline.begin(s.text, s.file, s.key, world) for s in project.specs]
    shared = pipeline.shared_equipment(begun, world)
    return world, (pipeline.finish(b, shared, world) for b in begun if keys is None or b.key in keys)


def _today():
    """The day, for the age of labels alone: no document depends on it."""
    from datetime import date

    return date.today()


def _all_problems(project, world, menu):
    from .problems import in_order

    return in_order([*project.problems, *world.problems, *(p for one in menu for p in one.problems)])


def _located(problem, project):
    """The problem with its path as it can be opened from here."""
    from dataclasses import replace

    span = problem.span
    return problem if span is None or span.file.startswith("platecard/data/") else replace(problem, span=replace(span, file=project.on_disk(span.file)))


def _print_problems(problems, project) -> None:
    from .problems import render

    sources = {project.on_disk(k): v for k, v in project.sources().items()}
    for problem in problems:
        print(render(_located(problem, project), sources))


def _tally(problems) -> str:
    counts = {kind: sum(p.severity == kind for p in problems) for kind in ("error", "warning", "advice")}
    words = [f"{n} {kind}{'s' if n != 1 and kind != 'advice' else ''}" for kind, n in counts.items() if n]
    return ", ".join(words) or "no problems"


def _json(data) -> None:
    import json

    print(json.dumps(data, indent=1, ensure_ascii=False))


def _place(span, project) -> dict:
    if span is None:
        return {"file": None, "line": None}
    file = span.file if span.file.startswith("platecard/data/") else project.on_disk(span.file)
    return {"file": file, "line": span.line}


# --------------------------------------------------------------------------- the commands


def check(options) -> int:
    """``platecard check``: all problems, by place."""
    from .problems import as_data, has_errors

    project = _project(options, options.paths)
    world, menu = _menu(project)
    problems = _all_problems(project, world, menu)
    if options.format == JSON:
        _json([as_data(_located(p, project)) for p in problems])
    else:
        _print_problems(problems, project)
        print(f"{len(project.asked)} {'dish' if len(project.asked) == 1 else 'dishes'} checked: {_tally(problems)}")
    return 1 if has_errors(problems) else 0


def build(options) -> int:
    """``platecard build``: the documents of the asked dishes."""
    from . import build as builder
    from .problems import as_data, has_errors, in_order

    project = _project(options, options.paths)
    folders = {project.shown(p) for p in options.paths or ["specs"] if os.path.isdir(p)}
    known = builder.on_record(options.out)
    # Shared equipment carries a change from dish to dish, so whatever stands in the output
    # folder already is brought up to date with the dishes that were asked for.
    with_menu = bool(folders) or builder.MENU in known
    world, menu = _one_by_one(project, None if with_menu else {*project.asked, *known})
    reports = builder.build(menu, options.out, options.draft, folders, options.anew, with_menu, options.recipes)
    problems = in_order([*_all_problems(project, world, ()), *(p for r in reports for p in r.problems)])
    dishes = [r for r in reports if r.key and r.key != builder.MENU]
    if options.format == JSON:
        told = [{"dish": r.key, "state": r.state, "files": [f.replace(os.sep, "/") for f in r.files]} for r in dishes]
        menus = [{"state": r.state, "files": [f.replace(os.sep, "/") for f in r.files]} for r in reports if r.key == builder.MENU]
        _json({"dishes": told, "menu": menus[0] if menus else None, "problems": [as_data(_located(p, project)) for p in problems]})
    else:
        _print_problems([p for p in problems if p.severity != "advice"], project)
        for report in reports:
            if report.key:
                print(_said(report))
        hidden = sum(p.severity == "advice" for p in problems)
        print(f"{len(dishes)} {'dish' if len(dishes) == 1 else 'dishes'}: {_tally(problems)}" + (" (platecard check shows the advice)" if hidden else ""))
    return 1 if has_errors(problems) else 0


def _said(report) -> str:
    files = ", ".join(f.replace(os.sep, "/") for f in report.files)
    return {"written": f"{report.key}: written {files}", "unchanged": f"{report.key}: up to date",
            "draft": f"{report.key}: DRAFT written, not for service: {files}",
            "withdrawn": f"{report.key}: WITHDRAWN, its earlier documents no longer hold and were moved to {files}",
            "withheld": f"{report.key}: no card"}[report.state]


def allergens(options) -> int:
    """``platecard allergens``: findings with their reasons."""
    from .files import UsageError
    from .problems import has_errors

    project = _project(options, [options.dish])
    if len(project.asked) > 1:
        raise UsageError("name one dish")
    world, menu = _menu(project, (options.law,) if options.law else ())
    problems = _all_problems(project, world, menu)
    if options.law and not world.laws:
        from .knowledge import laws

        raise UsageError(f"there is no law '{options.law}' on file; laws: {', '.join(laws.names())}")
    statements = menu[0].statements if menu else ()
    code = 0
    if options.why and menu:
        code = _why(options, menu[0], world)
    elif options.format == JSON:
        _json(_findings_data(menu[0].key if menu else options.dish, statements, project))
    else:
        _print_findings(menu[0] if menu else None, statements, project)
    if has_errors(problems):
        for problem in problems:
            if problem.is_error:
                from .problems import one_line

                print(one_line(_located(problem, project)), file=sys.stderr)
        return 1
    return code


def _why(options, prepared, world) -> int:
    """The chains of one allergen in plain sentences."""
    from . import answering
    from .allergens import why
    from .problems import one_line, printable

    avoids, problems = answering.avoids(options.why, world)
    for problem in problems:
        print(one_line(problem), *problem.hints, sep="\n  ", file=sys.stderr)
    if problems or prepared.resolved is None:
        return 1
    lines = why.sentences(prepared.traces, prepared.sums, prepared.statements, avoids, world.tracer.taxonomy)
    if options.format == JSON:
        _json({"dish": prepared.key, "why": options.why, "sentences": list(lines)})
    else:
        print("\n".join(printable(line) for line in lines))
    return 0


def _findings_data(key: str, statements, project) -> dict:
    several = len(statements) > 1
    findings = []
    for statement in statements:
        for f in statement.findings:
            findings.append({"allergen": f.allergen, "gs1": f.gs1, "declared_as": f.declared_as, "presence": f.presence,
                             "reasons": [[{"what": link.words, **_place(link.span, project)} for link in chain] for chain in f.reasons],
                             "law": f.law, "level": f.level, "point": f.point, "note": f.note})
    from .documents.wording import CAUTION

    return {"dish": key, "law": ",".join(s.law.key for s in statements) if several else statements[0].law.key if statements else None, "findings": findings,
            "outside_the_law": [{"law": s.law.key, "allergen": a.node, "name": a.name, "presence": a.presence,
                                 "reasons": [[{"what": link.words, **_place(link.span, project)} for link in chain] for chain in a.reasons]} for s in statements for a in s.also],
            "exempted": [{"law": s.law.key, "allergen": e.node, "point": e.exemption.point, "why": e.exemption.why,
                          "reason": [{"what": link.words, **_place(link.span, project)} for link in e.chain]} for s in statements for e in s.exempted],
            "caution": CAUTION}


def _print_findings(prepared, statements, project) -> None:
    from .documents import wording
    from .problems import printable

    if prepared is None or prepared.dish is None:
        print("the spec cannot be read, so nothing is established")
        return
    print(printable(prepared.dish.title))
    for statement in statements:
        print(f"\n{statement.law.name}: {statement.law.act}, {statement.law.article}")
        for f in statement.findings:
            print(f"  {f.declared_as}: {wording.PRESENCE[f.presence]}" if not (f.presence == "not_among_ingredients" and f.note) else f"  {f.declared_as}: {f.note}")
            if f.presence == "not_among_ingredients":
                continue
            for chain in f.reasons:
                print(f"      {printable(wording.chain(chain))}")
                last = next((link.span for link in reversed(chain) if link.span), None)
                if last is not None:
                    place = _place(last, project)
                    print(f"        {place['file']}:{place['line']}")
            if f.note:
                print(f"      {f.note}")
        for a in statement.also:
            print(f"  outside this law: {a.name} ({wording.PRESENCE[a.presence]})")
        for e in statement.exempted:
            print(f"  left out by {e.exemption.point}: {e.node} ({e.exemption.why})")
    print(f"\n{wording.CAUTION}")


def guest(options) -> int:
    """``platecard guest``: one dish or the whole menu."""
    from . import answering, pipeline
    from .documents.wording import CAUTION
    from .problems import as_data, one_line

    if (options.out or options.card) and not options.dish:
        from .files import UsageError

        raise UsageError("name the dish whose changed plate is to be written")
    project = _project(options, [options.dish] if options.dish else [])
    world = _world(project)
    avoids, problems = answering.avoids(options.avoid, world)
    if problems:
        if options.format == JSON:
            _json({"answer": "not_established", "changes": [], "remaining": [], "reasons": [], "problems": [as_data(p) for p in problems]})
        for problem in problems:
            print(one_line(problem), *problem.hints, sep="\n  ", file=sys.stderr)
        return 1
    menu = tuple(pipeline.begin(s.text, s.file, s.key, world) for s in project.specs)
    answers = answering.answer_all(menu, project.asked, avoids, world)
    files, problems = (), ()
    if options.out or options.card:
        from . import changing

        files, problems = changing.write(answers, avoids, menu, world, options.out, options.card)
        _report(problems, project)
    if options.format == JSON:
        data = [answering.as_data(begun, answer, lambda span: _place(span, project)) for begun, answer in answers]
        if options.out or options.card:
            data = [{**d, "files": [f.replace(os.sep, "/") for f in files]} for d in data]
        _json(data[0] if options.dish and len(data) == 1 else data)
    else:
        from .problems import printable

        for begun, answer in answers:
            print("\n".join(printable(line) for line in answering.in_words(begun, answer)))
        if (options.out or options.card) and not files and not problems:
            print("  no card of its own: the regular card holds")
        if files:
            print(f"  written: {', '.join(f.replace(os.sep, '/') for f in files)}")
        print(f"\n{CAUTION}")
    return 1 if problems or any(answer is None or answer.answer == "not_established" for _, answer in answers) else 0


def acknowledge(options) -> int:
    """``platecard acknowledge``: the record for the chef to read and to write into the spec."""
    from .allergens import guard
    from .problems import has_errors, one_line

    project = _project(options, [options.dish])
    world, menu = _menu(project)
    # What the record is for is the one thing that may be wrong with the spec now.
    problems = [p for p in _all_problems(project, world, menu) if p.slug not in ("allergen-came-in", "acknowledged-too-late")]
    if has_errors(problems) or not menu[0].statements:
        for problem in problems:
            if problem.is_error:
                print(one_line(_located(problem, project)), file=sys.stderr)
        return 1
    if options.format == JSON:
        _json({"dish": menu[0].key, "acknowledged": {"revision": menu[0].dish.revision.number, **{s.law.key: list(guard.declared(s)) for s in menu[0].statements}}})
    else:
        print(guard.record_text(menu[0].dish, menu[0].statements), end="")
    return 0


def fire(options) -> int:
    """``platecard fire``: the timeline of one table."""
    from . import firing, pipeline
    from .files import UsageError
    from .problems import as_data, has_errors

    try:
        wanted = firing.asked(options.dishes)
        given = firing.time_of_day(options.at, options.called)
    except ValueError as exc:
        raise UsageError(str(exc)) from None
    project = _project(options, [path for path, _ in wanted])
    world = _world(project)
    table = firing.plates(wanted, [pipeline.begin(s.text, s.file, s.key, world) for s in project.specs if s.key in project.asked])
    schedule, problems = firing.work_out(table, world, project.problems)
    at_s = firing.leaves_at(schedule, given) if schedule else None
    if options.format == JSON:
        _json(firing.as_data(schedule, at_s, [as_data(_located(p, project)) for p in problems], lambda span: _place(span, project)))
    elif schedule and options.format == "svg":
        from .documents import fire_timeline
        from .drawing import svg

        print(svg.write(fire_timeline.picture(schedule, at_s, world.kitchen.settings.language)), end="")
    elif schedule:
        from .problems import printable

        print("\n".join(printable(line) for line in firing.in_words(schedule, at_s)))
    _report(problems, project)
    if schedule is None and not has_errors(problems):
        print(firing.nothing(one.dish.title for one, _ in table if one.dish), file=sys.stderr)
    return 1 if schedule is None or has_errors(problems) else 0


def mat(options) -> int:
    """``platecard mat``: the plate at 100 %, on as many sheets as it takes."""
    from . import training

    return _trained(options, "mat", training.mat)


def steps(options) -> int:
    """``platecard steps``: the plating sequence in small pictures."""
    from . import training

    return _trained(options, "steps", training.steps)


def _trained(options, name: str, draw) -> int:
    """One dish drawn for those who learn to plate it, if it is sound."""
    from .build import write_file
    from .files import UsageError

    project = _project(options, [options.dish])
    if len(project.asked) != 1:
        raise UsageError("name one dish")
    world, menu = _menu(project)
    problems = [p for p in _all_problems(project, world, menu) if p.is_error]
    files = []
    if menu and menu[0].is_sound and not problems:
        for path, data in draw(menu[0], options.out or f"{menu[0].key}-{name}.pdf").items():
            faults = write_file(path, data)
            problems += faults
            files += [] if faults else [path.replace(os.sep, "/")]
    _report(problems, project)
    if options.format == JSON:
        from .problems import as_data

        _json({"dish": menu[0].key if menu else options.dish, "files": files, "problems": [as_data(_located(p, project)) for p in problems]})
    elif files:
        print(f"written: {', '.join(files)}")
    return 1 if problems or not files else 0


def prep(options) -> int:
    """``platecard prep``: the preparation list and the order list."""
    from . import pipeline, prepping
    from .build import write_file
    from .files import UsageError, read_one
    from .problems import has_errors

    project = _project(options, [])
    world = _world(project)
    keys = [s.key for s in project.specs]
    asked, problems = prepping.covers(options.covers, keys)
    if options.covers_file:
        more, faults = prepping.covers_file(read_one(options.covers_file), options.covers_file, keys)
        asked, problems = {k: asked.get(k, 0) + more.get(k, 0) for k in (*asked, *(k for k in more if k not in asked))}, (*problems, *faults)
    on, faults = prepping.day(options.date)
    problems = (*problems, *faults)
    if not problems and not asked:
        raise UsageError("name the covers, for example --covers " + (f"{keys[0]}=24" if keys else "DISH=24"))
    if has_errors(problems):
        _report(problems, project)
        return 1
    menu = (pipeline.begin(s.text, s.file, s.key, world) for s in project.specs if s.key in asked)
    work, faults = prepping.work(menu, asked, world, on)
    if options.format == JSON:
        _json(prepping.as_data(work, lambda span: _place(span, project)))
    elif options.format == "csv":
        print(prepping.as_csv(work), end="")
    else:
        from .problems import printable

        print("\n".join(printable(line) for line in prepping.in_words(work, lambda span: _place(span, project))))
    problems = tuple(p for p in (*project.problems, *world.problems, *faults) if p.is_error)
    if options.pdf:
        problems += write_file(options.pdf, prepping.as_pdf(work))
    _report(problems, project)
    return 1 if problems else 0


def cost(options) -> int:
    """``platecard cost``: what one plate costs."""
    from . import pipeline, prepping
    from .files import UsageError
    from .problems import printable

    project = _project(options, [options.dish])
    if len(project.asked) != 1:
        raise UsageError("name one dish")
    world = _world(project)
    (begun,) = (pipeline.begin(s.text, s.file, s.key, world) for s in project.specs if s.key == project.asked[0])
    found = prepping.cost_of(begun, world.kitchen)
    if options.format == JSON:
        _json(prepping.cost_as_data(begun, found, lambda span: _place(span, project)))
    else:
        print("\n".join(printable(line) for line in prepping.cost_in_words(begun, found, lambda span: _place(span, project))))
    problems = tuple(p for p in (*project.problems, *world.problems, *begun.problems) if p.is_error)
    _report(problems, project)
    return 1 if problems else 0


def scale(options) -> int:
    """``platecard scale``: one recipe to a target yield."""
    from . import rescaling
    from .problems import has_errors, printable

    project = _project(options, [])
    world = _world(project)
    found, problems = rescaling.to(options.recipe, options.to, world)
    system = world.kitchen.settings.amounts
    if found is not None and options.format == JSON:
        _json(rescaling.as_data(found, system))
    elif found is not None:
        print("\n".join(printable(line) for line in rescaling.in_words(found, system)))
    _report(problems, project)
    return 1 if found is None or has_errors(problems) else 0


def _report(problems, project) -> None:
    """Problems on standard error, where the answer itself is on standard output."""
    from .problems import one_line, printable

    for problem in problems:
        print(one_line(_located(problem, project)), *(f"  {printable(h)}" for h in problem.hints), sep="\n", file=sys.stderr)


def cautions(options) -> int:
    """``platecard cautions``: what to mind, by rule, with its sources."""
    from . import firing
    from .files import UsageError
    from .problems import has_errors, printable

    project = _project(options, [options.dish])
    if len(project.asked) > 1:
        raise UsageError("name one dish")
    world, menu = _menu(project)
    problems = _all_problems(project, world, menu)
    general = world.cautioner.rules.general
    if menu and menu[0].dish is not None and menu[0].resolved is not None:
        if options.format == JSON:
            _json(firing.cautions_as_data(menu[0].key, menu[0].cautions, world.cautioner.codes, general, lambda span: _place(span, project)))
        else:
            print("\n".join(printable(line) for line in firing.cautions_in_words(menu[0].dish.title, menu[0].cautions, general)))
    _report([p for p in problems if p.is_error], project)
    return 1 if has_errors(problems) else 0


def compare(options) -> int:
    """``platecard compare``: what changed between two files, or two revisions in git."""
    from dataclasses import replace

    from . import comparing, gitfiles, revisions
    from .build import write_file
    from .files import UsageError
    from .problems import has_errors, printable

    if options.out and not comparing.picture_kind(options.out):
        raise UsageError(f"--out {options.out}: name a file that ends in .svg or .pdf")
    sides = []
    for said in (options.old, options.new):
        named = gitfiles.split(said)
        project = gitfiles.read_project(*named, options.kitchen) if named else _project(options, [said])
        if len(project.asked) != 1:
            raise UsageError(f"{said}: name one dish")
        sides.append(comparing.Side(said, project, named[0] if named else ""))
    old, new = comparing.before(*sides), sides[1]
    was, now = (_menu(side.project)[1][0] for side in (old, new))
    # A file of the library or a neighbour that cannot be read leaves a dish in doubt as well.
    was, now = (replace(one, problems=_all_problems(side.project, one.world, (one,))) for one, side in ((was, old), (now, new)))
    found = revisions.compare(was, now)
    if options.format == JSON:
        _json(comparing.as_data(old, new, found))
    else:
        print("\n".join(printable(line) for line in comparing.in_words(old, new, was, now, found)))
    faults = tuple(dict.fromkeys(side.located(p) for one, side in ((was, old), (now, new)) for p in one.problems if p.is_error))
    if options.out:
        faults += write_file(options.out, comparing.picture(options.out, old, new, was, now, found))
    for problem in faults:
        from .problems import one_line

        print(one_line(problem), *(f"  {printable(h)}" for h in problem.hints), sep="\n", file=sys.stderr)
    return 1 if has_errors(faults) or found.alarms else 0


def schema(options) -> int:
    """``platecard schema``: the schema file as it stands."""
    from . import schema as schemas

    print(schemas.text(options.kind), end="")
    return 0


def new(options) -> int:
    """``platecard new``: a starter spec; never overwrites."""
    from .files import UsageError
    from .starter import path_and_text

    path, text = path_and_text(options.dish)
    try:
        os.makedirs(os.path.dirname(path) or ".", exist_ok=True)
        with open(path, "x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise UsageError(f"{path} is there already") from None
    except OSError as exc:
        raise UsageError(f"{path} cannot be written: {exc.strerror}") from None
    print(f"{path} written; next: platecard check {path}")
    return 0
