"""Check nodes against the JSON Schemas, with every complaint at its place and in a cook's words.

The schemas (draft 2020-12) in ``data/schemas`` are the reference; this module only
finds the node that a complaint is about, and words it.

Two libraries know them. jsonschema-rs tells in a fraction of the time that there is nothing to
complain of, as in most files; where it does not say so, jsonschema names each complaint and its
place, and has the last word. A test holds the first to the second.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from platecard.diagnostics import Problem, did_you_mean, error
from platecard.package_data import read_text
from platecard.yaml_nodes import MAX_PROBLEMS, Mapping, Node, Scalar, Sequence, at, plain, unsure

if TYPE_CHECKING:
    import jsonschema_rs
    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError

KINDS = ("dish", "kitchen", "recipe", "pantry", "plates")
# The commands whose answers, with --format json, a schema in ``data/schemas/output`` describes.
COMMANDS = (
    "check",
    "files",
    "build",
    "allergens",
    "guest",
    "mat",
    "steps",
    "acknowledge",
    "prep",
    "cost",
    "scale",
    "fire",
    "cautions",
    "label",
    "compare",
)


@cache
def text(kind: str) -> str:
    """The JSON Schema of ``kind``, as packaged."""
    return read_text("schemas", f"{kind}.json")


@cache
def text_of_answer(command: str) -> str:
    """The JSON Schema of what ``command`` prints with ``--format json``, as packaged."""
    return read_text("schemas", "output", f"{command}.json")


@cache
def _validator(kind: str) -> Draft202012Validator:
    # Imported here: it takes longer than all of the reading, and a sound file does not need it.
    from jsonschema import Draft202012Validator

    return Draft202012Validator(json.loads(text(kind)))


@cache
def _quick_validator(kind: str) -> jsonschema_rs.Draft202012Validator:
    import jsonschema_rs  # here, because --help does not need it

    return jsonschema_rs.Draft202012Validator(json.loads(text(kind)))


def _is_sound(value: object, kind: str) -> bool:
    """Whether there is surely nothing to complain of."""
    try:
        return _quick_validator(kind).is_valid(value)
    except ValueError:  # a value beyond what it can hold
        return False


_BOUNDS = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
}


def check(node: Node, kind: str) -> tuple[Problem, ...]:
    """Everything that the schema ``kind`` finds wrong with ``node``.

    :func:`is_beyond` tells whether the file is too large to be read further.
    """
    if not isinstance(node, Mapping):
        found = "a list" if isinstance(node, Sequence) else "a single value"
        keys = list(json.loads(text(kind))["properties"])
        return (
            error(
                "not-a-mapping", node.span, f"this file holds {found}; a {kind} file holds keys such as '{keys[0]}:'"
            ),
        )
    value = plain(node)
    if _is_sound(value, kind):
        return ()
    problems: list[Problem] = []
    for complaint in _validator(kind).iter_errors(value):
        problems += _worded(complaint, node)
        if len(problems) > MAX_PROBLEMS:
            problems.append(
                error(
                    "too-many-problems",
                    problems[-1].span,
                    f"more than {MAX_PROBLEMS} problems; the rest of the file is not read",
                )
            )
            break
    return tuple(problems)


def is_beyond(problems: Iterable[Problem]) -> bool:
    """Whether a file holds more than a file of its kind ever does, so that reading on would only take time."""
    return any(p.slug in ("too-many", "too-many-problems") for p in problems)


def _worded(complaint: ValidationError, root: Node) -> list[Problem]:
    """One complaint of the validator as problems, at the node that it is about."""
    path = tuple(complaint.absolute_path)
    node = at(root, path)
    rule = str(complaint.validator)
    want: Any = complaint.validator_value
    instance: Any = complaint.instance
    schema = complaint.schema if isinstance(complaint.schema, dict) else {}
    what = f"'{path[-1]}'" if path and isinstance(path[-1], str) else "this entry"
    shown = _found(instance)
    hints = list(unsure(node)) if isinstance(node, Scalar) else []
    meaning = schema.get("description", "")

    if rule == "additionalProperties" and isinstance(node, Mapping):
        known = list(schema.get("properties", ()))
        return [
            error(
                "unknown-key",
                node.place(key),
                f"there is no key {_short(key)} here",
                did_you_mean(key, known) or "the keys here are: " + ", ".join(known),
            )
            for key in islice((k for k in node.entries if k not in known), MAX_PROBLEMS)
        ]
    if rule == "required":
        missing = next(
            (k for k in want if isinstance(instance, dict) and k not in instance and f"'{k}'" in complaint.message),
            "",
        )
        parent = f" for '{instance['arrange']}'" if isinstance(instance, dict) and "arrange" in instance else ""
        return [error("missing-key", node.span, f"'{missing}' is missing{parent}", _example(missing))]
    if rule == "enum":
        return [
            error(
                "unknown-word",
                node.span,
                f"{what} cannot be {shown}",
                *(hints or [did_you_mean(str(instance), map(str, want))]),
                "one of: " + ", ".join(map(str, want)),
            )
        ]
    if rule == "type":
        wanted = want if isinstance(want, list) else [want]
        words = " or ".join(_TYPES[w] for w in wanted)
        return [error("wrong-type", node.span, f"{what} should be {words}, not {_found(instance)}", *hints, meaning)]
    if rule in _BOUNDS:
        return [error("out-of-range", node.span, f"{what} is {shown}; it should be {_BOUNDS[rule]} {want}", *hints)]
    if rule == "pattern":
        if "propertyNames" in complaint.absolute_schema_path:
            place = node.place(instance) if isinstance(node, Mapping) else node.span
            return [
                error(
                    "bad-name",
                    place,
                    f"{shown} cannot be a name here",
                    "use small letters, digits and hyphens, up to 61 characters",
                )
            ]
        return [error("bad-text", node.span, f"{what} is {shown}; that is not how it is written", *hints, meaning)]
    if rule in ("minLength", "minItems", "minProperties"):
        if rule == "minProperties" and "recipe" in schema.get("properties", ()):
            return [error("no-source", node.span, f"{what} names no recipe, product or ingredient")]
        return [error("nothing-there", node.span, f"{what} is empty", *hints, meaning)]
    if rule in ("maxLength", "maxItems", "maxProperties"):
        if rule == "maxProperties" and "recipe" in schema.get("properties", ()):
            return [error("two-sources", node.span, f"{what} has more than one of recipe, product and ingredient")]
        if rule == "maxLength":
            return [error("too-long", node.span, f"{what} has more than {want} characters")]
        return [
            error("too-many", node.span, f"{what} has more than {want} {'entries' if rule == 'maxItems' else 'keys'}")
        ]
    if rule == "uniqueItems":
        return [error("given-twice", node.span, f"{what} names the same thing twice", "keep one")]
    return [error("schema", node.span, f"{what}: {_short(complaint.message)}", *hints, meaning)]


_TYPES = {
    "object": "a mapping (keys with values)",
    "array": "a list",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "nothing",
}
_EXAMPLES = {
    "revision": "revision: {number: 1, date: 2026-01-31}",
    "piece": "piece: {shape: disc, size: 22 mm, weight: 4 g}",
    "from": 'from: "8:00"',
    "to": 'to: "4:00"',
    "out": "out: 30 mm",
    "across": "across: 120 mm",
    "makes": "makes: 900 g",
    "size": "size: 45 x 20 mm",
    "reaches": "reaches: 5 °C",
    "within": "within: 2 h",
    "put": "put: one of the keys under components",
}


def _example(key: str) -> str:
    return f"for example {_EXAMPLES[key]}" if key in _EXAMPLES else ""


def _found(value: object) -> str:
    if value is None:
        return "empty"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    return f"{_short(value)}"


def _short(value: object) -> str:
    text = f"'{value}'" if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "…'"
