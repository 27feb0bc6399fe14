"""The commands about the kitchen's library: how a label was read, where something is used, a new name for it."""

from __future__ import annotations

from argparse import Namespace

from platecard.cli.shared import JSON, place_of, prepared_menu, print_json, project_of, report, world_of
from platecard.diagnostics import Span
from platecard.files.reading import Project
from platecard.model import Product


def label(options: Namespace) -> int:
    """``platecard label``: the label of a product, part by part, and the line that settles its unread words."""
    from platecard.diagnostics import did_you_mean, printable
    from platecard.files.reading import UsageError
    from platecard.reports import label_reading

    project = project_of(options, [])
    world = world_of(project)
    products = world.kitchen.products
    product = products.get(options.product)
    if product is None:
        hint = did_you_mean(options.product, products)
        raise UsageError(f"there is no product '{options.product}' in the pantry" + (f"; {hint}" if hint else ""))
    if options.format == JSON:
        print_json(label_reading.as_data(product, world, lambda span: place_of(span, project)))
    else:
        print("\n".join(printable(line) for line in label_reading.in_words(product, world)))
    own = [p for p in world.problems if p.is_error and _is_of(p.span, product)]
    report(own, project)
    return 1 if own or not label_reading.is_settled(product, world) else 0


def _is_of(span: Span | None, product: Product) -> bool:
    """Whether a problem lies in the label of this product."""
    label = product.label
    spans = [s for s in (product.span, product.is_a_span, label and label.span, label and label.text_span) if s]
    return span is not None and any(span.file == s.file and span.line == s.line for s in spans)


def uses(options: Namespace) -> int:
    """``platecard uses``: every dish that something of the kitchen comes on, and how."""
    from platecard import pipeline
    from platecard.diagnostics import did_you_mean, printable
    from platecard.files.reading import UsageError
    from platecard.reports import where_used

    project = project_of(options, [])
    world = world_of(project)
    asked = where_used.things(options.name, world)
    if not asked:
        hint = did_you_mean(options.name, where_used.names(world))
        raise UsageError(
            f"nothing here is called '{options.name}': no product, recipe, ingredient, equipment or plate"
            + (f"; {hint}" if hint else "")
        )
    menu = [pipeline.begin(s.text, s.file, s.key, world, s.problems) for s in project.specs]
    found = where_used.find(asked, menu)
    if options.format == JSON:
        print_json(where_used.as_data(options.name, found, lambda span: place_of(span, project)))
    else:
        print("\n".join(map(printable, where_used.in_words(found, lambda span: place_of(span, project)))))
    problems = tuple(p for p in (*project.problems, *world.problems) if p.is_error)
    report(problems, project)
    return 1 if problems or found.gaps else 0


def rename(options: Namespace) -> int:
    """``platecard rename``: a new key in every file that names it; only shown without --write."""
    from platecard.files import renaming
    from platecard.files.reading import UsageError

    project = project_of(options, [])
    made = renaming.plan(options.kind, options.old, options.new, project)
    specs = tuple(s._replace(text=made.specs.get(s.file, s.text)) for s in project.specs)
    after = project._replace(library=made.library, specs=specs)
    if (told := _said(after)) != (was := _said(project)):
        dish = next((key for key in was if told.get(key) != was[key]), "the kitchen")
        raise UsageError(f"under the name '{options.new}', {dish} would say something else; nothing was changed")
    if options.write:
        renaming.write(made, project)
    if options.format == JSON:
        print_json(
            {
                "kind": options.kind,
                "old": options.old,
                "new": options.new,
                "written": options.write,
                "changes": [{**edit._asdict(), "file": project.on_disk(edit.file)} for edit in made.edits],
                "moved": {"was": made.moved[0], "now": made.moved[1]} if made.moved else None,
            }
        )
        return 0
    for edit in made.edits:
        print(f"{project.on_disk(edit.file)}:{edit.line}:{edit.column}: {edit.now.strip()}")
    if made.moved:
        print(f"{project.on_disk(made.moved[0])} becomes {project.on_disk(made.moved[1])}")
    print("changed" if options.write else "nothing is changed yet; add --write")
    return 0


def _said(project: Project) -> dict[str, object]:
    """What a kitchen says of each dish, but for the names of things: its problems, and what each law declares."""
    world, menu = prepared_menu(project._replace(asked=tuple(s.key for s in project.specs)))
    said: dict[str, object] = {
        one.key: (
            sorted((p.slug, p.severity) for p in one.problems),
            [(f.law, f.allergen, f.presence) for s in one.statements for f in s.findings],
            [(p.use.grams, p.use.kept_g) for p in one.resolved.parts] if one.resolved else None,
        )
        for one in menu
    }
    return {**said, "the kitchen": sorted((p.slug, p.severity) for p in world.problems)}
