"""The commands of front of house: what is declared and why, and the answer to a guest."""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from platecard.cli.shared import (
    JSON,
    all_problems,
    located,
    named_file,
    named_folder,
    place_of,
    prepared_menu,
    print_json,
    project_of,
    report,
    world_of,
)

if TYPE_CHECKING:
    from platecard.allergens.basis import Basis, Counted
    from platecard.allergens.statement import Statement
    from platecard.files.reading import Project
    from platecard.prepared import Prepared, World


def allergens(options: Namespace) -> int:
    """``platecard allergens``: findings with their reasons."""
    from platecard.diagnostics import has_errors
    from platecard.documents.text import wording
    from platecard.files.reading import UsageError
    from platecard.knowledge import duties

    project = project_of(options, [options.dish])
    if len(project.asked) > 1:
        raise UsageError("name one dish")
    world, menu = prepared_menu(project, (options.law,) if options.law else ())
    problems = all_problems(project, world, menu)
    if options.law and not world.laws:
        from platecard.knowledge import laws

        raise UsageError(f"there is no law '{options.law}' on file; laws: {', '.join(laws.names())}")
    statements = menu[0].statements if menu else ()
    place = world.kitchen.settings.place
    code = 0
    if options.why and menu:
        code = _why(options, menu[0], world, project)
    elif options.format == JSON:
        print_json(
            {
                **_findings_data(menu[0].key if menu else options.dish, statements, project),
                "asks": [
                    {"law": law.key, **duties.as_data(d)} for law in world.laws for d in duties.of(law.key, place)
                ],
                "stands_on": _stands_on(menu[0].basis, project) if menu else None,
            }
        )
    else:
        _print_findings(menu[0] if menu else None, statements, project)
        for law in world.laws:
            for d in duties.of(law.key, place):
                print(wording.asks(d, law))
    if has_errors(problems):
        for problem in problems:
            if problem.is_error:
                from platecard.diagnostics import one_line

                print(one_line(located(problem, project)), file=sys.stderr)
        return 1
    return code


def _why(options: Namespace, prepared: Prepared, world: World, project: Project) -> int:
    """The chains of one allergen in plain sentences."""
    from platecard.allergens import explanation
    from platecard.diagnostics import one_line, printable
    from platecard.reports import guest_answers

    avoids, problems = guest_answers.avoids(options.why, world, option="--why")
    for problem in problems:
        print(one_line(problem), *problem.hints, sep="\n  ", file=sys.stderr)
    if problems or prepared.resolved is None:
        return 1
    lines = explanation.sentences(prepared.traces, prepared.sums, prepared.statements, avoids, world.tracer.taxonomy)
    if options.format == JSON:
        print_json(
            {
                "dish": prepared.key,
                "why": options.why,
                "sentences": list(lines),
                "stands_on": _stands_on(prepared.basis, project),
            }
        )
    else:
        from platecard.documents.text import wording

        print(
            "\n".join(
                printable(line)
                for line in (
                    *lines,
                    "",
                    "This is based on:",
                    *(f"  {said}" for said in wording.stands_on(prepared.basis)),
                )
            )
        )
    return 0


def _stands_on(basis: Basis, project: Project) -> dict[str, Any]:
    """What the declaration is based on, as data."""

    def named(dish: Counted) -> dict[str, Any]:
        return {"dish": dish.key, "title": dish.title, "file": project.on_disk(dish.file)}

    return {
        "files": [project.on_disk(f) for f in basis.files],
        "menu": [{**named(d), "read": d.is_read} for d in basis.menu],
        "reached_by": [
            {"equipment": r.equipment or None, "dishes": [named(d) for d in r.dishes]} for r in basis.reached
        ],
        "labels": [
            {"product": one.key, "called": one.called, "read": one.read, **place_of(one.span, project)}
            for one in basis.labels
        ],
        "unread": [{"what": u.name, "why": u.why, **place_of(u.span, project)} for u in basis.unread],
    }


def _findings_data(key: str, statements: Sequence[Statement], project: Project) -> dict[str, Any]:
    several = len(statements) > 1
    findings = []
    for statement in statements:
        for f in statement.findings:
            findings.append(
                {
                    "allergen": f.allergen,
                    "gs1": f.gs1,
                    "declared_as": f.declared_as,
                    "presence": f.presence,
                    "over_equipment": f.over,
                    "reasons": [
                        [{"what": link.words, **place_of(link.span, project)} for link in chain] for chain in f.reasons
                    ],
                    "law": f.law,
                    "level": f.level,
                    "mark": f.mark,
                    "point": f.point,
                    "note": f.note,
                    "on_record": bool(f.on_record),
                }
            )
    from platecard.documents.text.wording import CAUTION

    return {
        "dish": key,
        "law": ",".join(s.law.key for s in statements) if several else statements[0].law.key if statements else None,
        "findings": findings,
        "outside_the_law": [
            {
                "law": s.law.key,
                "allergen": a.node,
                "name": a.name,
                "presence": a.presence,
                "reasons": [
                    [{"what": link.words, **place_of(link.span, project)} for link in chain] for chain in a.reasons
                ],
            }
            for s in statements
            for a in s.also
        ],
        "exempted": [
            {
                "law": s.law.key,
                "allergen": e.node,
                "point": e.exemption.point,
                "why": e.exemption.why,
                "reason": [{"what": link.words, **place_of(link.span, project)} for link in e.chain],
            }
            for s in statements
            for e in s.exempted
        ],
        "from_memory": [{"law": s.law.key, "what": words} for s in statements for words in s.from_memory],
        "not_read": [{"law": s.law.key, "what": words} for s in statements for words in s.not_read],
        "relies_on": list(statements[0].relies_on) if statements else [],
        "caution": CAUTION,
    }


def _print_findings(prepared: Prepared | None, statements: Sequence[Statement], project: Project) -> None:
    from platecard.diagnostics import printable
    from platecard.documents.text import wording

    if prepared is None or prepared.dish is None:
        print("the spec cannot be read, so nothing is established")
        return
    print(printable(prepared.dish.title) + (" (a draft, off the menu)" if prepared.is_draft else ""))
    for statement in statements:
        print(f"\n{statement.law.name}: {statement.law.act}, {statement.law.article}")
        for f in statement.findings:
            is_left_out = f.presence == "not_among_ingredients" and f.note
            print(f"  {f.declared_as}: {f.note}" if is_left_out else f"  {f.in_full}: {wording.PRESENCE[f.presence]}")
            if f.presence == "not_among_ingredients":
                continue
            for chain in f.reasons:
                print(f"      {printable(wording.chain(chain))}")
                last = next((link.span for link in reversed(chain) if link.span), None)
                if last is not None:
                    place = place_of(last, project)
                    print(f"        {place['file']}:{place['line']}")
            if f.note:
                print(f"      {f.note}")
        for said in filter(None, (wording.from_memory(statement), wording.not_read(statement.not_read))):
            print(f"  {said}")
        for a in statement.also:
            print(f"  outside this law: {a.name} ({wording.PRESENCE[a.presence]})")
            for chain in sorted(a.reasons, key=len)[:1]:
                print(f"      {printable(wording.chain(chain))}")
        for e in statement.exempted:
            print(f"  left out by {e.exemption.point}: {e.node} ({e.exemption.why})")
    for words in wording.relies_on_cleaning(tuple(statements)):
        print(f"\n{words}")
    print(f"\n{wording.CAUTION}")


def guest(options: Namespace) -> int:
    """``platecard guest``: one dish or the whole menu."""
    from platecard import pipeline
    from platecard.diagnostics import as_data, one_line
    from platecard.documents.text.wording import CAUTION
    from platecard.reports import guest_answers

    if (options.out or options.card) and not options.dish:
        from platecard.files.reading import UsageError

        raise UsageError("name the dish whose changed plate is to be written")
    named_folder(options.out, "--out")
    named_file(options.card, "--card", ".pdf")
    project = project_of(options, [options.dish] if options.dish else [])
    world = world_of(project)
    avoids, problems = guest_answers.avoids(options.avoid, world, options.eats)
    if problems:
        if options.format == JSON:
            print_json(
                {
                    "answer": "not_established",
                    "understood": guest_answers.understood(avoids),
                    "nothing_found": False,
                    "also": [],
                    "changes": [],
                    "remaining": [],
                    "reasons": [],
                    "problems": [as_data(p) for p in problems],
                    "caution": CAUTION,
                }
            )
        for problem in problems:
            print(one_line(problem), *problem.hints, sep="\n  ", file=sys.stderr)
        return 1
    menu = tuple(pipeline.begin(s.text, s.file, s.key, world, s.problems) for s in project.specs)
    # The menu's answers are those of its dishes; a draft is answered for only when it is named.
    asked = tuple(b.key for b in menu if b.key in project.asked and (b.key in project.named or not b.marks.is_draft))
    answers = guest_answers.answer_all(menu, asked, avoids, world)
    files: tuple[str, ...] = ()
    if options.out or options.card:
        from platecard.reports import guest_card

        files, problems = guest_card.write(answers, avoids, menu, world, options.out, options.card)
        report(problems, project)
    if options.format == JSON:
        data = [
            guest_answers.as_data(
                begun, answer, lambda span: place_of(span, project), avoids, guest_answers.also_told(begun, world)
            )
            for begun, answer in answers
        ]
        if options.out or options.card:
            data = [{**d, "files": [f.replace(os.sep, "/") for f in files]} for d in data]
        print_json(data[0] if options.dish and len(data) == 1 else data)
    else:
        from platecard.diagnostics import printable

        print("\n".join(printable(line) for line in guest_answers.understood_in_words(avoids)) + "\n")
        for begun, answer in answers:
            print(
                "\n".join(
                    printable(line)
                    for line in guest_answers.in_words(begun, answer, guest_answers.also_told(begun, world))
                )
            )
        if (options.out or options.card) and not files and not problems:
            print("  no card of its own: the regular card is valid")
        if files:
            print(f"  written: {', '.join(f.replace(os.sep, '/') for f in files)}")
        print(f"\n{CAUTION}")
    return 1 if problems or any(answer is None or answer.answer == "not_established" for _, answer in answers) else 0
