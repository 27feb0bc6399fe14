"""Compile the packaged tables to JSON Lines beside this file, so that starting up need not parse YAML.

Run it after changing a table or the code that reads one: ``python platecard/data/compiled/make_tables.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[2]))

from platecard import packaged_tables  # noqa: E402
from platecard.allergens import named_foods  # noqa: E402
from platecard.allergens.labels import vocabulary  # noqa: E402
from platecard.files import entries  # noqa: E402
from platecard.knowledge import (  # noqa: E402
    catalogue,
    claims,
    colours,
    duties,
    guests,
    kinds,
    languages,
    laws,
    looks,
    taxonomy,
)
from platecard.quantities import bounds, durations, units  # noqa: E402
from platecard.service import caution_rules, scaling, yields  # noqa: E402


def load_all() -> None:
    """Load every table that is read through :mod:`platecard.packaged_tables`."""
    for load in (
        taxonomy.load,
        kinds.load,
        guests.load,
        claims.lexicon,
        duties.load,
        catalogue.load,
        caution_rules.load,
        vocabulary.words,
        named_foods.words,
        colours.palette,
        looks.load,
        units.table,
        durations.words,
        bounds.bounds,
        scaling.rules,
        yields.tables,
    ):
        load()
    entries.judged("a", False, {})
    for key in laws.names():
        laws.load(key)
    for key in languages.names():
        languages.load(key)


def main() -> None:
    """Replace all compiled tables, and print the name of each."""
    for old in HERE.glob("*.jsonl"):
        old.unlink()
    load_all()
    for label, (of, made) in sorted(packaged_tables.read_anew.items()):
        (HERE / f"{label}.jsonl").write_text(packaged_tables.as_text(of, made), encoding="utf-8")
        print(f"{label}.jsonl written")


if __name__ == "__main__":
    main()
