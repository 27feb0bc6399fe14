"""The commands about the kitchen's library: how a label was read, and where something is used."""

from __future__ import annotations

from argparse import Namespace

from platecard.cli.shared import JSON, place_of, print_json, project_of, report, world_of
from platecard.diagnostics import Span
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
