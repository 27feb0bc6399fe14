"""Write the arrangements and the shapes into the schema of a dish.

Run it after changing one: ``python platecard/data/schemas/make_words.py``, and then ``make_guides.py``.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[2]))

from platecard.layout import arrangements, shapes  # noqa: E402

SCHEMA = HERE / "dish.json"


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


def main() -> None:
    """Write the schema, and print its name."""
    SCHEMA.write_text(schema(SCHEMA.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"{SCHEMA.name} written")


if __name__ == "__main__":
    main()
