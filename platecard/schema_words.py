"""What to write in place of a value that a schema refuses, as an order that can be followed as it stands."""

from __future__ import annotations

import re
from collections.abc import Sequence as Several
from datetime import date
from typing import Any

from platecard.diagnostics import did_you_mean
from platecard.yaml_faults import BULLETS
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence

TYPES = {
    "object": "keys with values",
    "array": "a list",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "nothing",
}

# What cooks write where a list has no entry.
NONE = frozenset({"none", "no", "nothing", "nil", "keine", "aucun", "-"})

# How a key is written in full; each of these passes the schema.
EXAMPLES = {
    "dish": "dish: the name of the dish",
    "kitchen": "kitchen: the name of the kitchen",
    "laws": "laws: [uk]",
    "plate": "plate: a key of shared/plates.yaml",
    "components": "components: {oil: {recipe: dill-oil}}",
    "plating": "plating: [{put: oil, amount: 45 ml, arrange: pool, across: 60 mm}]",
    "ingredients": "ingredients: [{ingredient: dill, amount: 40 g}]",
    "recipe": "recipe: the name of the recipe",
    "products": "products: {day-bread: {called: Day-old bread}}",
    "plates": "plates: {wide: {called: Wide plate, form: rimmed, outer: 280 mm, well: 200 mm}}",
    "number": "number: 1",
    "revision": "revision: {number: 1, date: 2026-01-31}",
    "date": "date: 2026-01-31",
    "acknowledged": "acknowledged: {revision: 1, eu: [milk]}",
    "price": "price: {net: 24 EUR}",
    "serve": "serve: {plate: hot, food: hot}",
    "piece": "piece: {shape: disc, size: 22 mm, weight: 4 g}",
    "shape": "shape: disc",
    "within": "within: {out: 20 to 55 mm}",
    "accept": "accept: {count: 1, place: 6 mm}",
    "swap": "swap: {avoiding: [milk], use: {ingredient: leek}}",
    "avoiding": "avoiding: [milk]",
    "use": "use: {ingredient: leek}",
    "held": "held: {at: 63 °C, up_to: 2 h}",
    "label": "label: {read: 2026-01-31, contains: [milk]}",
    "read": "read: 2026-01-31",
    "form": "form: rimmed",
    "outer": "outer: 280 mm",
    "well": "well: 200 mm",
    "card": "card: {page: A5 landscape}",
    "stations": "stations: {larder: Larder}",
    "equipment": "equipment: {fryer: the fryer}",
    "cleaned": "cleaned: {between: each use, how: scraped and washed, by: head chef, checked: 2026-01-31}",
    "between": "between: each use",
    "how": "how: scraped and washed",
    "by": "by: head chef",
    "checked": "checked: 2026-01-31",
    "gives": "gives: {fillet: 2}",
    "do": "do: slice",
    "takes": "takes: 4 min",
    "from": 'from: "8:00"',
    "to": 'to: "4:00"',
    "out": "out: 30 mm",
    "across": "across: 120 mm",
    "rows": "rows: 2",
    "makes": "makes: 900 g",
    "size": "size: 45 x 20 mm",
    "points": "points: 0 0, 30 5, 34 18, 12 22",
    "hole": "hole: 8 mm",
    "reaches": "reaches: 5 °C",
    "within_time": "within: 2 h",
    "put": "put: one of the keys under components",
    "core": "core: {reaches: 63 °C, for: 55 min}",
    "at": "at: 63 °C",
    "for": "for: 55 min",
}


def example(key: str, schema: dict[str, Any] | None = None) -> str:
    """How ``key`` is written in full; empty for a key without an example."""
    if key == "within" and schema is not None and schema.get("type") != "object":
        key = "within_time"
    if key == "equipment" and schema is not None and "additionalProperties" not in schema:
        return "equipment: fryer"
    return EXAMPLES.get(key, "")


def described(schema: dict[str, Any]) -> str:
    """The meaning of a key as an order: 'write how long the plate takes to build: 90 s'."""
    meaning: str = re.split(r"; |\. ", schema.get("description", ""))[0]
    return f"write {meaning[0].lower()}{meaning[1:]}" if meaning else ""


def in_place_of(node: Node, key: str, schema: dict[str, Any]) -> tuple[str, ...]:
    """What to write in place of a value of the wrong type; ``key`` is empty for an entry of a list."""
    wanted = schema.get("type")
    types: list[str] = wanted if isinstance(wanted, list) else [str(wanted)]
    if isinstance(node, Scalar) and node.value is None:
        return _nothing(node, key, schema, types)
    text = " ".join(node.text.split()) if isinstance(node, Scalar) else ""
    if "integer" in types or types == ["number"]:
        return _whole(text, key) or _told(schema)
    if types == ["boolean"]:
        word = _SWITCH.get(text.lower(), "")
        return (f"write {key}: {word}" if word and key else "write true or false",)
    if "array" in types and not ("string" in types and isinstance(node, Mapping)):
        return _a_list(node, key, schema) or _told(schema)
    if "object" in types and "string" not in types:
        return _keys(node, text, key, schema) or _told(schema)
    if isinstance(node, Mapping) and "string" in types:
        first, value = next(iter(node.entries.items()), ("", None))
        if len(node.entries) == 1 and isinstance(value, Scalar):
            return (f'put quotes round the whole text: "{first}: {value.text}"',)
        return ("write a text in its place; put quotes round one that holds a colon",)
    if isinstance(node, Sequence) and key == "put":
        return ("give each component a move of its own",)
    if isinstance(node, Scalar) and types == ["string"] and ": " not in schema.get("description", ""):
        return (f'write {key}: "{text}", in quotation marks' if key else f'write "{text}", in quotation marks',)
    return _told(schema)


def _told(schema: dict[str, Any]) -> tuple[str, ...]:
    return (described(schema),) if schema.get("description") else ()


_SWITCH = {
    **dict.fromkeys(("yes", "y", "on", "ja", "oui", "si", "sí", "x", "true"), "true"),
    **dict.fromkeys(("no", "n", "off", "nein", "non", "false"), "false"),
}
_NUMBERS = dict(zip("one two three four five six seven eight nine ten eleven twelve".split(), map(str, range(1, 13))))


def _whole(text: str, key: str) -> tuple[str, ...]:
    figure = _NUMBERS.get(text.lower()) or next(iter(re.findall(r"\A0*([1-9]\d{0,3})(?:\s*[^\W\d].*)?\Z", text)), "")
    if figure:
        return (f"write {key}: {figure}" if key else f"write {figure}",)
    if key == "count":
        return ("write one whole number; what expo may let pass beside it goes under accept: {count: 1}",)
    return ("write a whole number",)


def _nothing(node: Scalar, key: str, schema: dict[str, Any], types: Several[str]) -> tuple[str, ...]:
    """What to write where nothing is."""
    if node.comment and not node.quoted and key:
        return (f'put quotes round what belongs to it: {key}: "{node.comment}"',)
    if not key:
        return ("write the entry, or delete its '- '",)
    if "ingredient" in schema.get("properties", {}):
        return (f"write what it is made of, for example {key}: {{ingredient: dill}}; or delete '{key}'",)
    if shown := example(key, schema):
        return (f"write it out, for example {shown}; or delete '{key}'",)
    if "array" in types and "string" not in types and "object" not in types:
        return (f"write its entries in brackets, as in {key}: [...]; or delete '{key}'",)
    how = described(schema)
    return (f"{how}; or delete '{key}'" if how else f"write what belongs to '{key}', or delete it",)


def _a_list(node: Node, key: str, schema: dict[str, Any]) -> tuple[str, ...]:
    """How a text, or keys, become a list."""
    if isinstance(node, Mapping):
        first = next(iter(node.entries), "")
        if key == "ingredients" and all(isinstance(v, Scalar) for v in node.entries.values()):
            return tuple(
                f"write each as an entry of its own: - {{ingredient: {name}, amount: {value.text}}}"
                for name, value in list(node.entries.items())[:1]
                if isinstance(value, Scalar)
            )
        return (f"write '- ' in front of each entry, as in '- {first}: ...'",)
    if not isinstance(node, Scalar):
        return ()
    if node.text and node.text[0] in BULLETS:
        return (f"write '- ' (a hyphen and a space) in place of '{node.text[0]}'",)
    items = schema.get("items")
    if isinstance(items, dict) and items.get("type", "string") == "string" and "$ref" not in items:
        said = [part.strip() for part in node.text.split("," if items.get("maxLength", 0) < 100 else "\n")]
        if key == "contains" and node.text.lower() in NONE:
            return ("write contains: [], if you read the label and it states none",)
        shown = ", ".join(s for s in said if s)
        return (
            f"write {key}: [{shown}]"
            if not re.search(r"[:\[\]{}#]", shown) and "," not in "".join(said)
            else f'write {key}: ["{shown}"]',
        )
    return (f"write it as a list, for example {example(key, schema)}",) if example(key, schema) else ()


_LINE = re.compile(r"((?:\d[\d./]*|[½¼¾⅓⅔])\s*[^\W\d]{0,6})\s+(.+)")


def _keys(node: Node, text: str, key: str, schema: dict[str, Any]) -> tuple[str, ...]:
    """How a text, or a list, become keys with values."""
    known = schema.get("properties", {})
    if isinstance(node, Scalar) and "ingredient" in known:
        if "amount" in known:
            line = _LINE.fullmatch(text)
            amount, name = line.groups() if line else ("40 g", text)
            return (f"write {{ingredient: {name}, amount: {amount}}}; for a recipe or a product, write that word",)
        return (f"write {key}: {{ingredient: {text}}}; for a recipe or a product, write that word",)
    if key in ("stations", "equipment") and isinstance(node, Sequence | Scalar):
        names = [i.text for i in node.items if isinstance(i, Scalar)] if isinstance(node, Sequence) else text.split(",")
        said = ", ".join(f"{as_name(n)}: {n.strip()}" for n in names if as_name(n))
        return (f"write a key and a name for each: {key}: {{{said}}}",) if said else ()
    return (f"write it with its keys, for example {example(key, schema)}",) if example(key, schema) else ()


def as_name(said: str) -> str:
    """A text as a name of the kitchen's files: small letters, digits and hyphens; empty where none are left."""
    return re.sub(r"[^a-z0-9]+", "-", said.strip().lower()).strip("-")[:61]


# Words of other books for a word of a schema.
_WORDS = {
    "round": ("disc", "rimmed", "coupe"),
    "circle": ("disc", "ring"),
    "square": ("cube", "rectangle"),
    "slate": ("board",),
    "cool": ("chilled", "cold"),
    "cold": ("chilled",),
    "ambient": ("room",),
    "english": ("en-GB",),
    "german": ("de",),
    "deutsch": ("de",),
    "french": ("fr",),
    "français": ("fr",),
    "italian": ("it",),
    "spanish": ("es",),
    "japanese": ("ja",),
}


def one_of(said: object, known: Several[object]) -> tuple[str, ...]:
    """What to write in place of a word that is none of ``known``."""
    words, text = [str(k) for k in known], str(said).strip()
    same = next((w for w in words if w.lower() == text.lower()), "")
    if same:
        return (f"write '{same}'",)
    meant = [w for w in _WORDS.get(text.lower(), ()) if w in words] or [
        w for w in words if len(text) > 1 and w.lower().startswith(f"{text.lower()} ")
    ]
    if meant:
        return (f"write '{meant[0]}'" if len(meant) == 1 else "write one of: " + ", ".join(meant),)
    return (did_you_mean(text, words), "write one of: " + ", ".join(words))


def days_meant(text: str) -> tuple[str, ...]:
    """The days, as YYYY-MM-DD, that a date in another form may stand for; none where it cannot be told."""
    text = " ".join(text.replace(",", " ").split())
    months = "jan feb mar apr may jun jul aug sep oct nov dec".split()
    found: list[tuple[int, int, int]] = []
    if match := re.fullmatch(r"(\d{4})[-./ ](\d{1,2})[-./ ](\d{1,2})", text):
        year, one, two = map(int, match.groups())
        found = [(year, one, two)] if one <= 12 else [(year, two, one)]
    elif match := re.fullmatch(r"(\d{1,2})([-./ ])(\d{1,2})[-./ ](\d{4})", text):
        one, two, year = int(match[1]), int(match[3]), int(match[4])
        # A dot parts a day from its month; a stroke parts a day from its month, or in the United States the reverse.
        found = [(year, two, one)] if match[2] == "." else [(year, two, one), (year, one, two)]
    elif match := re.fullmatch(r"(\d{1,2})\.? ([^\W\d]{3,9})\.? (\d{4})", text):
        day, word, year = int(match[1]), match[2][:3].lower(), int(match[3])
        found = [(year, months.index(word) + 1, day)] if word in months else []
    elif match := re.fullmatch(r"([^\W\d]{3,9})\.? (\d{1,2}) (\d{4})", text):
        word, day, year = match[1][:3].lower(), int(match[2]), int(match[3])
        found = [(year, months.index(word) + 1, day)] if word in months else []
    days = []
    for y, m, d in found:
        try:
            days.append(date(y, m, d).isoformat())
        except ValueError:
            continue
    return tuple(dict.fromkeys(days))


def as_a_day(text: str) -> str:
    """The hint for a date in another form."""
    days = days_meant(text)
    if not days:
        return "write year, month and day, as in 2026-01-31"
    return f"write {days[0]}" if len(days) == 1 else f"write {' or '.join(days)}, whichever day it was"
