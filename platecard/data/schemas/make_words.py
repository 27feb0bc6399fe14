"""Write the arrangements and the shapes into the schema of a dish, and their tables into ``specs/README.md``.

Run it after changing one: ``python platecard/data/schemas/make_words.py``.
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

SCHEMA, GUIDE = HERE / "dish.json", ROOT / "specs" / "README.md"


def schema(text: str) -> str:
    """The schema of a dish, with the arrangements and the shapes as they are."""
    tree: Any = json.loads(text)
    tree["$defs"]["piece"]["properties"]["shape"]["enum"] = [s.name for s in shapes.ALL]
    step = tree["$defs"]["step"]
    step["properties"]["arrange"]["enum"] = [p.name for p in arrangements.ALL]
    step["allOf"] = [_needs("arrange", p.name, p.needs) for p in arrangements.ALL if p.needs]
    return json.dumps(tree, indent=1, ensure_ascii=False) + "\n"


def _needs(key: str, word: str, needs: tuple[str, ...]) -> dict[str, Any]:
    return {
        "if": {"properties": {key: {"const": word}}, "required": [key]},
        "then": {"required": list(needs)},
    }


def guide(text: str) -> str:
    """The guide, with its tables as they are."""
    rows = ["| `arrange` | how the pieces lie | needs | and takes |", "|---|---|---|---|"]
    for p in arrangements.ALL:
        rows.append(f"| {p.name} | {p.meaning} | {_keys(p.needs)} | {_keys(sorted(p.uses - {*p.needs}))} |")
    text = _between(text, "arrangements", "\n".join(rows))
    rows = ["| `shape` | what a card calls one, and several | height where none is given |", "|---|---|---|"]
    for s in shapes.ALL:
        high = f"{s.share:g} of its width" if s.share else f"{s.high_mm:g} mm"
        rows.append(f"| {s.name} | {s.words[0]}, {s.words[1]} | {high} |")
    return _between(text, "shapes", "\n".join(rows))


def _keys(keys: Any) -> str:
    return ", ".join(f"`{k}`" for k in keys)


def _between(text: str, name: str, new: str) -> str:
    """The text, with what stands between the two marks of that name replaced."""
    made, found = re.subn(
        rf"(<!-- {name}: [^\n]*-->\n).*?(\n<!-- end of {name} -->)",
        lambda m: m.group(1) + new + m.group(2),
        text,
        flags=re.S,
    )
    if found != 1:
        raise SystemExit(f"{GUIDE} has no place for the {name}")
    return made


def main() -> None:
    """Write both files, and print the name of each."""
    for path, made in ((SCHEMA, schema), (GUIDE, guide)):
        path.write_text(made(path.read_text(encoding="utf-8")), encoding="utf-8")
        print(f"{path.name} written")


if __name__ == "__main__":
    main()
