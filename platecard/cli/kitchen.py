"""The command about what is bought in: how a label was read."""

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
