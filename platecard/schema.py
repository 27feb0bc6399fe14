"""Check nodes against the JSON Schemas, with every complaint at its place and in a cook's words.

The schemas (draft 2020-12) in ``data/schemas`` are the reference; this module only
finds the node that a complaint is about, and words it.

Two libraries know them. jsonschema-rs tells in a fraction of the time that there is nothing to
complain of, as in most files; where it does not say so, jsonschema names each complaint and its
place, and has the last word. A test holds the first to the second.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from platecard.diagnostics import Problem, did_you_mean, error, listed
from platecard.package_data import read_text
from platecard.schema_words import TYPES, as_a_day, as_name, described, example, in_place_of, one_of
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
    "uses",
    "rename",
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


def check(node: Node, kind: str, told: Iterable[Problem] = ()) -> tuple[Problem, ...]:
    """Everything that the schema ``kind`` finds wrong with ``node``, but for what stands where ``told`` has an error.

    :func:`is_beyond` tells whether the file must not be read further.
    """
    if not isinstance(node, Mapping):
        found = "a list" if isinstance(node, Sequence) else "a single value"
        return (
            error(
                "not-a-mapping",
                node.span,
                f"this file holds {found}; a {kind} file holds keys such as '{_MARKS[kind][0]}:'",
                f"begin it with {example(_MARKS[kind][0]) or _MARKS[kind][0] + ':'}",
            ),
        )
    key = _MARKS[kind][0]
    if (
        kind in ("pantry", "plates")
        and key not in node.entries
        and all(isinstance(v, Mapping) for v in node.entries.values())
    ):
        first = next(iter(node.entries), "")
        return (
            error(
                "missing-key",
                node.span,
                f"'{key}' is missing above {_short(first)}",
                f"write {key}: as a first line with no space before it, and indent all that is below by 2 spaces more",
            ),
        )
    if other := _other_kind(node, kind):
        return (
            error(
                "wrong-kind-of-file",
                node.span,
                f"this is {_FILES[other][0]}, and it lies where {_FILES[kind][0]} belongs",
                f"move it to {_FILES[other][1]}",
            ),
        )
    value = plain(node)
    if _is_sound(value, kind):
        return ()
    # A warning says only that something is odd: it takes no complaint of the schema's place.
    places = {p.span[:3] for p in told if p.span and p.is_error and p.withholds}
    complaints: list[ValidationError] = []
    for complaint in _validator(kind).iter_errors(value):
        if at(node, complaint.absolute_path).span[:3] not in places or not complaint.absolute_path:
            complaints.append(complaint)
        if len(complaints) > MAX_PROBLEMS:
            break
    # A key that is missing, and one that is not known beside it, are one slip.
    missing: dict[tuple[str | int, ...], list[str]] = {}
    for c in complaints:
        if c.validator == "required":
            missing.setdefault(tuple(c.absolute_path), []).append(_missing(c))
    problems: list[Problem] = []
    taken: set[tuple[tuple[str | int, ...], str]] = set()
    for c in complaints:
        if c.validator == "additionalProperties":
            problems += _unknown_keys(c, node, kind, missing, taken)
    for path, lacking in missing.items():
        missing[path] = [key for key in lacking if (path, key) not in taken]
    for c in complaints:
        if c.validator == "required":
            # All that is missing in one place is one message, at the first complaint about it.
            if lacking := missing.pop(tuple(c.absolute_path), []):
                problems.append(_are_missing(c, lacking, at(node, c.absolute_path)))
        elif c.validator != "additionalProperties":
            problems += _worded(c, node)
    if len(problems) > MAX_PROBLEMS:
        problems = [
            *problems[: MAX_PROBLEMS + 1],
            error(
                "too-many-problems",
                problems[MAX_PROBLEMS].span,
                f"more than {MAX_PROBLEMS} problems; the rest of the file is not read",
                "put these right first",
            ),
        ]
    return tuple(problems)


# The keys that tell what a file is, by its kind; and what such a file is called, and where it lies.
_MARKS = {
    "dish": ("dish", "plating", "components"),
    "kitchen": ("kitchen", "laws", "stations"),
    "recipe": ("recipe", "ingredients", "makes"),
    "pantry": ("products",),
    "plates": ("plates",),
}
_FILES = {
    "dish": ("a dish", "specs/"),
    "kitchen": ("the description of a kitchen", "shared/kitchen.yaml"),
    "recipe": ("a recipe", "shared/recipes/"),
    "pantry": ("a pantry file", "shared/, as pantry.yaml or pantry-….yaml"),
    "plates": ("a file of plates", "shared/, as plates.yaml or plates-….yaml"),
}


def _other_kind(node: Mapping, kind: str) -> str:
    """The kind of file that this is by its keys, where it is none of ``kind``; empty where that cannot be told."""
    if any(key in node.entries for key in _MARKS[kind]):
        return ""
    return next((k for k, keys in _MARKS.items() if all(key in node.entries for key in keys[:2])), "")


def is_beyond(problems: Iterable[Problem]) -> bool:
    """Whether a file is of another kind, or holds more than its kind ever does, so that reading on only takes time."""
    return any(p.slug in ("too-many", "too-many-problems", "wrong-kind-of-file") for p in problems)


def _missing(complaint: ValidationError) -> str:
    """The key that a complaint about a missing key names."""
    want: Any = complaint.validator_value
    instance: Any = complaint.instance
    return next(
        (k for k in want if isinstance(instance, dict) and k not in instance and f"'{k}'" in complaint.message), ""
    )


def _unknown_keys(
    complaint: ValidationError,
    root: Node,
    kind: str,
    missing: dict[tuple[str | int, ...], list[str]],
    taken: set[tuple[tuple[str | int, ...], str]],
) -> Iterator[Problem]:
    """An error for each key that is not known where it stands; ``taken`` gets the missing keys it may stand for."""
    path = tuple(complaint.absolute_path)
    node = at(root, path)
    if not isinstance(node, Mapping):
        return
    schema = complaint.schema if isinstance(complaint.schema, dict) else {}
    known = list(schema.get("properties", ()))
    unknown = [k for k in node.entries if k not in known]
    lacking = missing.get(path, [])
    for key in islice(unknown, MAX_PROBLEMS):
        said, value = f"there is no key {_short(key)} here", node.entries[key]
        begins, _, rest = key.partition(":")
        if begins in known and rest and isinstance(value, Scalar) and value.value is None:
            taken.add((path, begins))
            yield error(
                "unknown-key", node.place(key), "a colon without a space after it", f"write {begins}: {rest.strip()}"
            )
            continue
        if {"ingredient", "amount"} <= {*known} and len(node.entries) == 1 and isinstance(value, Scalar) and value.text:
            yield error("unknown-key", node.place(key), said, f"write {{ingredient: {key}, amount: {value.text}}}")
            continue
        words = (key.lower(), key.lower().rstrip("s"))
        meant_by = [
            k for k in (*_KEYS.get(words[0], ()), *_KEYS.get(words[1], ())) if k in known and k not in node.entries
        ]
        close = next((k for k in known if k.lower() == words[0]), "")
        hint = f"write '{close}'" if close else did_you_mean(key, known)
        stands_for = next((k for k in lacking if k == close or f"'{k}'" in hint or k in meant_by), "")
        if not stands_for and not hint and len(unknown) == len(lacking) == 1:
            stands_for = lacking[0]
        if stands_for:
            taken.add((path, stands_for))
        if not hint and meant_by:
            hint = "write " + " or ".join(f"'{k}'" for k in dict.fromkeys(meant_by))
        elif not hint and (homes := _homes(kind).get(key)):
            hint = f"move it: '{key}' is a key of {' or of '.join(homes)}"
        elif not hint and stands_for:
            hint = f"write '{stands_for}' if that is what it stands for; '{stands_for}' is missing"
        yield error(
            "unknown-key", node.place(key), said, hint or "write one of these keys, or take it out: " + ", ".join(known)
        )


# Keys as other cooks' books and other languages have them, and the keys that may be meant.
_KEYS = {
    "name": ("dish", "recipe", "kitchen", "called"),
    "title": ("dish", "recipe", "called"),
    "titel": ("dish", "recipe", "called"),
    "nom": ("dish", "recipe", "called"),
    "gericht": ("dish",),
    "plat": ("dish",),
    "teller": ("plate",),
    "assiette": ("plate",),
    "rezept": ("recipe",),
    "recette": ("recipe",),
    "zutat": ("ingredient",),
    "zutaten": ("ingredients",),
    "produkt": ("product",),
    "produit": ("product",),
    "item": ("ingredient", "product"),
    "food": ("ingredient",),
    "quantity": ("count", "amount"),
    "qty": ("count", "amount"),
    "menge": ("amount",),
    "quantité": ("amount",),
    "anzahl": ("count",),
    "nombre": ("count",),
    "pieces": ("count",),
    "yield": ("makes",),
    "serve": ("makes",),
    "portion": ("makes",),
    "ergibt": ("makes",),
    "instruction": ("method",),
    "direction": ("method",),
    "step": ("method", "plating"),
    "zubereitung": ("method",),
    "temperature": ("at", "core"),
    "time": ("takes",),
    "law": ("laws",),
    "diameter": ("size", "outer"),
    "radius": ("out",),
    "distance": ("out",),
    "direction_faced": ("facing",),
    "notes": ("note",),
    "comment": ("note",),
    "description": ("menu_line", "note"),
}
# What holds the keys of a part of a schema, in words.
_HOLDERS = {
    "component": "a component",
    "components": "a component",
    "step": "a move",
    "plating": "a move",
    "finish": "a finishing step",
    "products": "a product",
    "plates": "a plate",
    "ingredients": "a line under 'ingredients'",
    "equipment": "a piece of equipment",
}


@cache
def _homes(kind: str) -> dict[str, tuple[str, ...]]:
    """Each key of a kind of file, with what it may stand under, in words."""
    found: dict[str, list[str]] = {}

    def walk(part: Any, holder: str) -> None:
        if isinstance(part, list):
            for inner in part:
                walk(inner, holder)
        elif isinstance(part, dict):
            for name, inner in (*part.get("properties", {}).items(), *part.get("$defs", {}).items()):
                if name in part.get("properties", {}):
                    words = _HOLDERS.get(
                        holder, f"'{holder}'" if holder else "the file itself, with no space before it"
                    )
                    if words not in found.setdefault(name, []):
                        found[name].append(words)
                walk(inner, name)
            for key in ("items", "additionalProperties", "oneOf", "anyOf", "allOf"):
                walk(part.get(key), holder)

    walk(json.loads(text(kind)), "")
    return {key: tuple(homes) for key, homes in found.items() if len(homes) < 3}


def _worded(complaint: ValidationError, root: Node) -> list[Problem]:
    """One complaint of the validator as problems, at the node that it is about."""
    path = tuple(complaint.absolute_path)
    node = at(root, path)
    rule = str(complaint.validator)
    want: Any = complaint.validator_value
    instance: Any = complaint.instance
    schema = complaint.schema if isinstance(complaint.schema, dict) else {}
    key = path[-1] if path and isinstance(path[-1], str) else ""
    what = f"'{key}'" if key else "this entry"
    shown = _found(instance)
    hints = list(unsure(node)) if isinstance(node, Scalar) else []

    if rule == "enum":
        return [error("unknown-word", node.span, f"{what} cannot be {shown}", *hints, *one_of(instance, want))]
    if rule == "type":
        wanted = want if isinstance(want, list) else [want]
        words = " or ".join(TYPES[w] for w in wanted)
        hints = [h for h in hints if not isinstance(node, Scalar) or node.value is not None and want != "boolean"]
        how = () if hints else in_place_of(node, key, {**schema, "type": want})
        return [error("wrong-type", node.span, f"{what} should be {words}, not {_found(instance)}", *hints, *how)]
    if rule in _BOUNDS:
        bound = f"{_BOUNDS[rule]} {want}"
        return [error("out-of-range", node.span, f"{what} is {shown}; it should be {bound}", *hints, f"write {bound}")]
    if rule == "pattern":
        if "propertyNames" in complaint.absolute_schema_path:
            place = node.place(instance) if isinstance(node, Mapping) else node.span
            return [
                error(
                    "bad-name",
                    place,
                    f"{shown} cannot be a name here",
                    "use small letters, digits and hyphens, up to 61 characters"
                    + (f": {name}" if (name := as_name(str(instance))) else ""),
                )
            ]
        if "\\d{4}-" in want:
            return [
                error(
                    "bad-text", node.span, f"{what} is {shown}; a date is written YYYY-MM-DD", as_a_day(str(instance))
                )
            ]
        return [
            error("bad-text", node.span, f"{what} is {shown}; that is not how it is written", *hints, described(schema))
        ]
    if rule in ("minLength", "minItems", "minProperties"):
        if rule == "minProperties" and "recipe" in schema.get("properties", ()):
            return [error("no-source", node.span, f"{what} names no recipe, product or ingredient", NO_SOURCE)]
        how = in_place_of(Scalar(None, "", node.span), key, {**schema, "type": schema.get("type", "string")})
        return [error("nothing-there", node.span, f"{what} is empty", *hints, *how)]
    if rule in ("maxLength", "maxItems", "maxProperties"):
        if rule == "maxProperties" and "recipe" in schema.get("properties", ()):
            return [
                error(
                    "two-sources", node.span, f"{what} has more than one of recipe, product and ingredient", "keep one"
                )
            ]
        if rule == "maxLength":
            return [error("too-long", node.span, f"{what} has more than {want} characters", "shorten it")]
        units = "entries" if rule == "maxItems" else "keys"
        return [error("too-many", node.span, f"{what} has more than {want} {units}", f"write {want} at most")]
    if rule == "uniqueItems":
        return [error("given-twice", node.span, f"{what} names the same thing twice", "keep one")]
    return [
        error("schema", node.span, f"{what}: {_short(complaint.message)}", *hints, described(schema) or "correct it")
    ]


def _are_missing(complaint: ValidationError, keys: list[str], node: Node) -> Problem:
    """The problem of the keys that a mapping lacks."""
    instance: Any = complaint.instance
    parent = f" for '{instance['arrange']}'" if isinstance(instance, dict) and "arrange" in instance else ""
    known = complaint.schema.get("properties", {}) if isinstance(complaint.schema, dict) else {}
    names = [f"'{key}'" for key in keys]
    said = f"{listed(names)} {'are' if names[1:] else 'is'}"
    shown = [line for key in keys if (line := example(key, known.get(key)))]
    hint = f"add {'them' if names[1:] else 'it'}" + (f", for example {', '.join(shown)}" if shown else "")
    return error("missing-key", node.span, f"{said} missing{parent}", hint)


NO_SOURCE = "write what it is made of, for example recipe: dill-oil or ingredient: dill"


def _found(value: object) -> str:
    if value is None:
        return "empty"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "keys with values"
    if isinstance(value, list):
        return "a list"
    return f"{_short(value)}"


def _short(value: object) -> str:
    text = f"'{value}'" if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "…'"
