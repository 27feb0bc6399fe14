"""What the figures are compared with, and what is timed inside a process.  Run as ``baselines.py NAME ARGUMENT…``."""

from __future__ import annotations

import json
import os
import sys
import time


def page(count: str) -> None:
    """``count`` documents of one empty A5 page, the least that any PDF costs with reportlab."""
    from io import BytesIO

    from reportlab.pdfgen.canvas import Canvas

    for _ in range(int(count)):
        out = BytesIO()
        canvas = Canvas(out, pagesize=(595.3, 419.5), invariant=1)
        canvas.showPage()
        canvas.save()


def validate(folder: str) -> None:
    """The specs of ``folder`` read and checked against the schema of a dish, by jsonschema alone."""
    import yaml
    from jsonschema import Draft202012Validator

    from platecard.package_data import read_text

    validator = Draft202012Validator(json.loads(read_text("schemas", "dish.json")))
    for path in _yaml_below(os.path.join(folder, "specs")):
        with open(path, encoding="utf-8") as stream:
            for _ in validator.iter_errors(yaml.load(stream, Loader=_loader(yaml))):
                pass


def read(folder: str) -> None:
    """All files of ``folder`` read by PyYAML alone."""
    import yaml

    for path in _yaml_below(folder):
        with open(path, encoding="utf-8") as stream:
            yaml.load(stream, Loader=_loader(yaml))


def derive(folder: str) -> None:
    """The allergens of every dish under the laws in force, from the files on; no plate is laid out."""
    start = time.process_time()
    world, menu = _menu(folder)
    taken = time.process_time()
    count, may = _derived(menu, world)
    assert count == len(menu) * len(world.laws)
    print(
        json.dumps({"read_s": taken - start, "derive_s": time.process_time() - taken, "statements": count, "may": may})
    )


def guest(folder: str) -> None:
    """The question of a guest for every set of the nine allergens of US law, each over the whole menu."""
    from dataclasses import replace
    from itertools import combinations

    from platecard import pipeline
    from platecard.allergens.guests.answers import Asked, Avoid
    from platecard.allergens.traces import Tracer

    world, menu = _menu(folder)
    # Derived with nothing remembered, as every other run would.
    fresh = replace(world, tracer=Tracer(world.tracer.taxonomy, world.tracer.texts))
    start = time.process_time()
    _derived(menu, fresh)
    derived = time.process_time() - start
    us = next(law for law in world.laws if law.key == "us")
    avoids = [Avoid(group.heading, tuple(group.nodes)) for group in us.groups]
    assert len(avoids) == 9, [a.said for a in avoids]
    shared = pipeline.shared_equipment(menu, world)
    asked = [
        Asked(b.resolved, world.pantry, world.tracer, shared, dict(world.kitchen.settings.equipment)) for b in menu
    ]
    answers: dict[str, int] = {}
    start = time.process_time()
    for size in range(10):
        for chosen in combinations(avoids, size):
            for dish in asked:
                said = dish.answer(chosen).answer
                answers[said] = answers.get(said, 0) + 1
    print(
        json.dumps(
            {"derive_s": derived, "questions_s": time.process_time() - start, "questions": 2**9, "answers": answers}
        )
    )


def draw(folder: str) -> None:
    """Layout and drawing of a menu's plates to PDF, against the same number of bare paths written by reportlab."""
    import io

    from reportlab.pdfgen.canvas import Canvas

    from platecard.documents.diagram import plate
    from platecard.drawing import pdf
    from platecard.drawing.scene import Group
    from platecard.layout import arrange, checks

    def shapes(items) -> int:
        return sum(shapes(i.items) if isinstance(i, Group) else 1 for i in items)

    _, menu = _menu(folder)
    start = time.process_time()
    scenes = []
    for begun in menu:
        arrangement, _ = arrange.place(begun.dish, begun.resolved.plate)
        checks.check(arrangement, begun.dish)
        scenes.append(plate.draw(arrangement, begun.dish))
    laid = time.process_time() - start
    pages = [pdf.write((scene,), title="x") for scene in scenes]
    drawn = time.process_time() - start
    count = sum(shapes(scene.items) for scene in scenes)
    start = time.process_time()
    for scene in scenes:
        canvas = Canvas(io.BytesIO(), invariant=1)
        for n in range(shapes(scene.items)):
            path = canvas.beginPath()
            path.moveTo(n % 200, 10)
            path.lineTo(n % 200 + 20, 30)
            path.lineTo(n % 200, 50)
            path.close()
            canvas.drawPath(path, stroke=1, fill=1)
        canvas.showPage()
        canvas.save()
    bare = time.process_time() - start
    print(
        json.dumps(
            {
                "lay_s": laid,
                "draw_s": drawn,
                "bare_s": bare,
                "dishes": len(menu),
                "shapes": count,
                "bytes": sum(map(len, pages)),
            }
        )
    )


def cards(folder: str, out: str) -> None:
    """Every dish of ``folder`` checked, its diagram written as SVG and its pass card as PDF, in one process."""
    from platecard import fingerprint, pipeline
    from platecard.documents.diagram import plate
    from platecard.documents.pages import pass_card
    from platecard.drawing import pdf, svg
    from platecard.publishing import single_file

    world, begun = _menu(folder)
    shared = pipeline.shared_equipment(begun, world)
    os.makedirs(out, exist_ok=True)
    begun.reverse()
    while begun:
        dish = pipeline.finish(begun.pop(), shared, world)
        assert dish.is_sound, [p.message for p in dish.problems if p.is_error]
        food = plate.food_on(dish.arrangement, dish.dish)
        scene = plate.draw(dish.arrangement, dish.dish, food=food)
        mark = fingerprint.of(dish)
        pages = pass_card.compose(dish, plate.number_of(dish.dish), mark, food=food)
        card = pdf.write(pages, title=dish.dish.title, keywords=mark)
        for name, data in (("svg", svg.write(scene).encode()), ("pdf", card)):
            faults = single_file.write_file(os.path.join(out, f"{dish.key}.{name}"), data)
            assert not faults, faults
        fingerprint.forget(dish)


def prep(folder: str) -> None:
    """The preparation and order lists of a menu for 300 covers, after its files are read."""
    from platecard.reports import prep_sheet

    start = time.process_time()
    world, menu = _menu(folder)
    read_s = time.process_time() - start
    asked = {begun.key: 300 // len(menu) + (n < 300 % len(menu)) for n, begun in enumerate(menu)}
    start = time.process_time()
    work, _ = prep_sheet.work(menu, asked, world)
    print(
        json.dumps(
            {
                "read_s": read_s,
                "plan_s": time.process_time() - start,
                "covers": sum(asked.values()),
                "lines": len(prep_sheet.in_words(work, lambda span: {"file": "", "line": 0})),
            }
        )
    )


def _menu(folder: str):
    from platecard import pipeline
    from platecard.files.reading import read_project

    project = read_project([os.path.join(folder, "specs")])
    world = pipeline.world(project.library, project.folder)
    menu = [pipeline.begin(s.text, s.file, s.key, world) for s in project.specs]
    faults = [p for p in (*world.problems, *(p for b in menu for p in b.problems)) if p.is_error]
    assert not faults, faults[:3]
    return world, menu


def _derived(menu, world) -> tuple[int, int]:
    """How many statements there are, and how many findings in them came only by contact or a label's "may"."""
    from platecard import pipeline
    from platecard.allergens import cross_contact, derivation, sulphites

    shared = pipeline.shared_equipment(menu, world)
    names = dict(world.kitchen.settings.equipment)
    count = may = 0
    for begun in menu:
        traces = (*world.tracer.dish(begun.resolved), *cross_contact.received(begun.resolved, shared, names))
        sums = sulphites.sums(begun.resolved, world.tracer.taxonomy)
        for law in world.laws:
            made = derivation.derive(traces, sums, law, world.tracer.taxonomy)
            count += 1
            may += len(made.with_presence("may_contain"))
    return count, may


def _yaml_below(folder: str) -> list[str]:
    return sorted(
        os.path.join(base, name) for base, _, names in os.walk(folder) for name in names if name.endswith(".yaml")
    )


def _loader(yaml):
    return getattr(yaml, "CSafeLoader", yaml.SafeLoader)


if __name__ == "__main__":
    {
        "page": page,
        "validate": validate,
        "read": read,
        "derive": derive,
        "guest": guest,
        "draw": draw,
        "cards": cards,
        "prep": prep,
    }[sys.argv[1]](*sys.argv[2:])
