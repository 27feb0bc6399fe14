"""Write ``specs/README.md`` and ``shared/README.md`` from their texts in ``guides/``, the schemas and the example.

Run it after changing one of these: ``python platecard/data/schemas/make_guides.py``.  The texts in ``guides/`` have
places for what is not written by hand:

- ``<!-- keys of SCHEMA PART ... -->`` is the table of the keys of that part of a schema (``*``: each entry of it);
  ``but KEY ...`` leaves keys out, ``only KEY ...`` has no others.  Lines ``KEY: more`` add to what the schema says.
- ``<!-- arrangements -->`` and ``<!-- shapes -->`` are the tables of these.
- ``@FILE@`` is a file of the example kitchen, ``@FILE KEY@`` only what stands under that key in it.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
sys.path.insert(0, str(ROOT))

from platecard.layout import arrangements, shapes  # noqa: E402

TEXTS, EXAMPLE = HERE / "guides", HERE / "guides" / "example"
GUIDES = ("specs", "shared")
_TYPES = {
    "string": "text",
    "number": "a figure",
    "integer": "a whole number",
    "boolean": "`true` or `false`",
    "array": "a list",
    "object": "keys",
}
_LONG = 8  # words that a key may have: more are listed in a table of their own


def guide(name: str) -> str:
    """The guide of a folder, from its text."""
    text = (TEXTS / f"{name}.md").read_text(encoding="utf-8")
    text = re.sub(r"<!-- keys of (.*?)(?: -->|\n(.*?)\n-->)", lambda m: _keys_of(m[1], m[2] or ""), text, flags=re.S)
    text = text.replace("<!-- arrangements -->", _arrangements()).replace("<!-- shapes -->", _shapes())
    text = re.sub(r"^@(\S+?)(?: (\S+))?@$", lambda m: _excerpt(m[1], m[2]), text, flags=re.M)
    title, rest = text.split("\n", 1)
    return f"{title}\n\n<!-- Written by platecard/data/schemas/make_guides.py from the schemas and guides/. -->\n{rest}"


def _keys_of(where: str, notes: str) -> str:
    """The table of the keys of one part of a schema."""
    path, _, only = where.partition(" only ")
    path, _, but = path.partition(" but ")
    schema, *parts = path.split()
    root: Any = json.loads((HERE / f"{schema}.json").read_text(encoding="utf-8"))
    part = root
    for name in parts:
        part = _inside(part, name, root)
    more = dict(line.split(": ", 1) for line in notes.splitlines())
    keys = [k for k in part["properties"] if k not in but.split() and (not only or k in only.split())]
    for key in (*more, *but.split(), *only.split()):
        if key not in part["properties"]:
            raise SystemExit(f"{path} has no key '{key}'")
    rows = ["| key | takes | meaning |", "|---|---|---|"]
    for key in keys:
        rows += _rows(key, part["properties"][key], key in part.get("required", ()), more.get(key, ""), root)
    return "\n".join(rows)


def _inside(part: Any, name: str, root: Any) -> Any:
    if name == "*":
        return part.get("additionalProperties") or part["items"]
    return part["properties"][name] if name in part.get("properties", ()) else root["$defs"][name]


def _rows(key: str, value: Any, is_needed: bool, more: str, root: Any) -> list[str]:
    """The row of a key, and those of the keys within it."""
    within = value.get("properties", {})
    if "$ref" in value:
        value, within = root["$defs"][value["$ref"].rsplit("/", 1)[-1]], {}
    said = value.get("description", "")
    if more:
        said = f"{said}; {more}" if said else more
    rows = [f"| `{key}`{' (needed)' if is_needed else ''} | {_takes(value)} | {said.replace('|', chr(92) + '|')} |"]
    for inner, one in within.items():
        rows += _rows(f"{key}: {inner}", one, inner in value.get("required", ()), "", root)
    return rows


def _takes(value: Any) -> str:
    """What a cook may write there."""
    words = value.get("enum") or (value.get("items") or {}).get("enum") or ()
    if words and len(words) <= _LONG:
        listed = ", ".join(map(str, words))
        return f"any of {listed}" if "items" in value else listed
    types = value.get("type", "string")
    types = [types] if isinstance(types, str) else types
    if types == ["string", "number"]:
        return "a figure"
    return " or ".join(_TYPES[t] for t in types)


def _arrangements() -> str:
    rows = ["| `arrange` | how the pieces lie | needs | and takes |", "|---|---|---|---|"]
    for p in arrangements.ALL:
        rows.append(f"| {p.name} | {p.meaning} | {_keys(p.needs)} | {_keys(sorted(p.uses - {*p.needs}))} |")
    return "\n".join(rows)


def _shapes() -> str:
    rows = ["| `shape` | what a card calls one, and several | height where none is given |", "|---|---|---|"]
    for s in shapes.ALL:
        high = f"{s.share:g} of its width" if s.share else f"{s.high_mm:g} mm"
        rows.append(f"| {s.name} | {s.words[0]}, {s.words[1]} | {high} |")
    return "\n".join(rows)


def _keys(keys: Any) -> str:
    return ", ".join(f"`{k}`" for k in keys)


def _excerpt(name: str, key: str | None) -> str:
    """A file of the example, or the lines of one key of it."""
    lines = (EXAMPLE / name).read_text(encoding="utf-8").rstrip("\n").split("\n")
    if key is None:
        return "\n".join(lines)
    first = next(i for i, line in enumerate(lines) if line.lstrip().startswith(key))
    indent = len(lines[first]) - len(lines[first].lstrip())
    last = next(
        (i for i in range(first + 1, len(lines)) if len(lines[i]) - len(lines[i].lstrip()) <= indent), len(lines)
    )
    return "\n".join(lines[first:last])


def main() -> None:
    """Write both guides, and print the name of each."""
    for name in GUIDES:
        (ROOT / name / "README.md").write_text(guide(name), encoding="utf-8")
        print(f"{name}/README.md written")


if __name__ == "__main__":
    main()
