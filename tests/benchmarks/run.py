"""How fast it is, each figure beside a named baseline measured in the same run.

    .venv/bin/python tests/benchmarks/run.py [NAME…] [--json] [--runs N] [--dishes N]

NAMES: start, cold, batch, edit, derive, guest (all of them where none is named).
Seconds are of processor time, user and system; a ratio is the median over runs that
stood side by side, so it says more than the seconds of a busy machine.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import sys
import tempfile
from dataclasses import asdict, dataclass

import kitchen
from measure import Run, in_turn, middle, process, ratio

HERE = os.path.dirname(os.path.abspath(__file__))
PYTHON = sys.executable
PROGRAM = [PYTHON, "-m", "platecard"]
BARE = [PYTHON, "-c", "pass"]


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table.

    ``times`` is the ratio to ``baseline``; ``target`` is in words, ``met`` None where there is none.
    """

    bench: str
    what: str
    value: float
    unit: str
    baseline: str = ""
    times: float | None = None
    target: str = ""
    met: bool | None = None


def baseline(name: str, *arguments: str) -> list[str]:
    return [PYTHON, os.path.join(HERE, "baselines.py"), name, *arguments]


def built(out: str, *more: str, program: list[str] = PROGRAM) -> list[str]:
    return [*program, "build", *more, "--out", out]


def start(folder: str, options) -> list[Figure]:
    """``--version`` and ``--help`` against a bare start of Python."""
    script = os.path.join(os.path.dirname(PYTHON), "platecard")
    asked = {
        "bare": (BARE, folder),
        "--version": ([*PROGRAM, "--version"], folder),
        "--help": ([*PROGRAM, "--help"], folder),
    }
    if os.path.exists(script):
        asked["--version (command)"] = ([script, "--version"], folder)
    runs = in_turn(asked, max(options.runs, 9))
    limits = {"--version": 2, "--version (command)": 2, "--help": 3}
    found = []
    for name, limit in limits.items():
        if name in runs:
            times = ratio(runs[name], runs["bare"])
            found.append(
                Figure(
                    "start",
                    name,
                    middle(runs[name]) * 1000,
                    "ms",
                    "python -c pass",
                    times,
                    f"{limit} x",
                    times <= limit,
                )
            )
    return found


def cold(folder: str, options) -> list[Figure]:
    """One dish in a process of its own: a small kitchen, and a dish of the demo kitchen."""
    small = kitchen.write(kitchen.menu(1, recipes=8, products=4, seed=7), os.path.join(folder, "small"))
    demo = os.path.join(HERE, "..", "..")
    out = os.path.join(folder, "out")
    runs = in_turn(
        {
            "bare": (BARE, folder),
            "page": (baseline("page", "1"), folder),
            "one dish, small kitchen": (built(out, "--anew", "specs/dish-0000.yaml"), small),
            "the same, up to date": (built(out, "specs/dish-0000.yaml"), small),
            "char-cucumber of the demo kitchen": (built(out + "-demo", "--anew", "specs/char-cucumber.yaml"), demo),
        },
        options.runs,
    )
    found = []
    for name in list(runs)[2:]:
        took = middle(runs[name])
        target = ("0.45 s", took < 0.45) if name == "one dish, small kitchen" else ("", None)
        found.append(
            Figure("cold", name, took * 1000, "ms", "python -c pass", ratio(runs[name], runs["bare"]), *target)
        )
        found.append(
            Figure("cold", f"{name}", took * 1000, "ms", "one empty reportlab page", ratio(runs[name], runs["page"]))
        )
    found.append(
        Figure(
            "cold",
            "peak memory",
            middle(runs["one dish, small kitchen"], "peak_mib"),
            "MiB",
            "one empty reportlab page",
            ratio(runs["one dish, small kitchen"], runs["page"], "peak_mib"),
        )
    )
    return found


def batch(folder: str, options) -> list[Figure]:
    """Many dishes in one process: checked, with diagram and card alone, then with every document of a dish, then with
    those of the menu too.
    """
    many, few = max(options.dishes, 20), max(options.dishes // 10, 2)
    places = {
        n: kitchen.write(kitchen.menu(n, recipes=120, deep=2, seed=3), os.path.join(folder, f"menu-{n}"))
        for n in (1, few, many)
    }
    out = os.path.join(folder, "out-batch")
    specs = [os.path.join("specs", name) for name in sorted(os.listdir(os.path.join(places[many], "specs")))]
    process(baseline("cards", places[1], out + "-first"), folder)  # once for nothing: compiled modules
    runs = in_turn(
        {
            "one": (baseline("cards", places[1], out + "-one"), folder),
            "few": (baseline("cards", places[few], out + "-few"), folder),
            "many": (baseline("cards", places[many], out + "-many"), folder),
            "dishes": (built(out + "-dishes", "--anew", *specs), places[many]),
            "menu": (built(out, "--anew"), places[many]),
            "validate": (baseline("validate", places[many]), folder),
            "pages": (baseline("page", str(many)), folder),
        },
        min(options.runs, 2),
    )
    documents = _documents(out)
    assert documents["dishes"] == many and len(os.listdir(out + "-many")) == 2 * many, (
        f"{documents['dishes']} of {many} dishes were drawn"
    )
    each = {name: middle(runs[name]) / {"one": 1, "few": few}.get(name, many) * 1000 for name in runs}
    # The start of the program is no part of what another dish costs.
    slope_few = (middle(runs["few"]) - middle(runs["one"])) / (few - 1)
    slope_many = (middle(runs["many"]) - middle(runs["few"])) / (many - few)
    peaks = {name: middle(runs[name], "peak_mib") for name in runs}
    said = f"each of {many} dishes: "
    return [
        Figure(
            "batch",
            said + "check, SVG and PDF",
            each["many"],
            "ms",
            "an empty reportlab page each",
            ratio(runs["many"], runs["pages"]),
            "20 ms",
            each["many"] < 20,
        ),
        Figure(
            "batch",
            said + "check, SVG and PDF",
            each["many"],
            "ms",
            "jsonschema on the same specs alone",
            ratio(runs["many"], runs["validate"]),
        ),
        Figure(
            "batch",
            f"one more dish at {many}",
            slope_many * 1000,
            "ms",
            f"one more dish at {few}",
            slope_many / slope_few,
            "1.2 x",
            slope_many / slope_few < 1.2,
        ),
        Figure(
            "batch",
            f"peak memory at {many} dishes",
            peaks["many"],
            "MiB",
            f"{few} dishes",
            ratio(runs["many"], runs["few"], "peak_mib"),
            "100 MiB",
            peaks["many"] < 100,
        ),
        Figure(
            "batch",
            said + "all its documents",
            each["dishes"],
            "ms",
            "check, SVG and PDF",
            ratio(runs["dishes"], runs["many"]),
        ),
        Figure(
            "batch",
            f"peak memory, {many} dishes with all their documents",
            peaks["dishes"],
            "MiB",
            "check, SVG and PDF",
            ratio(runs["dishes"], runs["many"], "peak_mib"),
            "100 MiB",
            peaks["dishes"] < 100,
        ),
        Figure(
            "batch",
            said + "the menu's documents too",
            each["menu"],
            "ms",
            "check, SVG and PDF",
            ratio(runs["menu"], runs["many"]),
        ),
        Figure(
            "batch",
            f"peak memory, {many} dishes as one menu",
            peaks["menu"],
            "MiB",
            "check, SVG and PDF",
            ratio(runs["menu"], runs["many"], "peak_mib"),
        ),
        Figure(
            "batch",
            f"each of {documents['pages']} pages of the dishes' PDFs",
            middle(runs["dishes"]) / documents["pages"] * 1000,
            "ms",
        ),
    ]


def _documents(out: str) -> dict:
    """How many dishes were drawn, and how many pages that made."""
    found = {"dishes": 0, "pages": 0}
    for base, _, names in os.walk(out):
        found["dishes"] += "pass-card.pdf" in names
        for name in names:
            if name.endswith(".pdf") and os.path.basename(base) != "menu":
                with open(os.path.join(base, name), "rb") as stream:
                    found["pages"] += len(re.findall(rb"/Type\s*/Page\b", stream.read()))
    return found


def edit(folder: str, options) -> list[Figure]:
    """A rebuild after one spec has changed."""
    dishes = max(options.dishes // 10, 2)
    place = kitchen.write(
        kitchen.menu(dishes, recipes=60, deep=2, equipment=0.0, seed=5), os.path.join(folder, "edited")
    )
    out = os.path.join(folder, "out-edit")
    spec = os.path.join(place, "specs", "dish-0001.yaml")
    with open(spec, encoding="utf-8") as stream:
        text = stream.read()
    full: list[Run] = []
    again: list[Run] = []
    none: list[Run] = []
    for number in range(min(options.runs, 3)):
        full.append(process(built(out, "--anew"), place))
        with open(spec, "w", encoding="utf-8") as stream:
            stream.write(text.replace("note: made up", f"note: made up again {number}"))
        again.append(process(built(out), place))
        none.append(process(built(out), place))
    said = [line.split(": ")[1].split(" ")[0] for line in again[-1].out.splitlines() if line.startswith("dish-")]
    written = sum(word == "written" for word in said)
    return [
        Figure(
            "edit",
            f"dishes drawn of {len(said)} after one edit",
            written,
            "",
            target="1",
            met=written == 1 and len(said) == dishes,
        ),
        Figure("edit", "build after one edit", middle(again) * 1000, "ms", "the full build", ratio(again, full)),
        Figure("edit", "build after no edit", middle(none) * 1000, "ms", "the full build", ratio(none, full)),
    ]


def derive(folder: str, options) -> list[Figure]:
    """Allergens of 200 dishes from recipes five deep, with shared equipment; no plate is laid out."""
    place = kitchen.write(kitchen.menu(200, recipes=200, deep=5, seed=3), os.path.join(folder, "deep"))
    runs = in_turn(
        {"derive": (baseline("derive", place), folder), "read": (baseline("read", place), folder)}, options.runs
    )
    inside = [json.loads(run.out) for run in runs["derive"]]
    read, derived = (sorted(one[key] for one in inside)[len(inside) // 2] for key in ("read_s", "derive_s"))
    return [
        Figure(
            "derive",
            "200 dishes, recipes five deep, from the files on",
            middle(runs["derive"]) * 1000,
            "ms",
            "the same files by PyYAML alone",
            ratio(runs["derive"], runs["read"]),
        ),
        Figure(
            "derive",
            "of that, the derivation",
            derived * 1000,
            "ms",
            "the same files by PyYAML alone",
            derived / middle(runs["read"]),
        ),
        Figure(
            "derive",
            "of that, reading and resolving",
            read * 1000,
            "ms",
            "the same files by PyYAML alone",
            read / middle(runs["read"]),
        ),
    ]


def guest(folder: str, options) -> list[Figure]:
    """Every set of the nine allergens of US law, asked of a menu of 30 dishes."""
    place = kitchen.write(kitchen.menu(30, recipes=60, deep=3, seed=4), os.path.join(folder, "asked"))
    runs = in_turn({"guest": (baseline("guest", place), folder)}, min(options.runs, 3))
    inside = [json.loads(run.out) for run in runs["guest"]]
    each = sorted(one["questions_s"] / one["questions"] for one in inside)[len(inside) // 2]
    times = sorted(one["questions_s"] / one["questions"] / one["derive_s"] for one in inside)[len(inside) // 2]
    return [
        Figure("guest", "one question of 512, over 30 dishes", each * 1000, "ms", "one derivation of the menu", times)
    ]


def draw(folder: str, options) -> list[Figure]:
    """Layout and drawing of 200 plates, against bare paths."""
    place = kitchen.write(kitchen.menu(200, recipes=40, seed=5), os.path.join(folder, "drawn"))
    runs = in_turn({"draw": (baseline("draw", place), folder)}, options.runs)
    inside = [json.loads(run.out) for run in runs["draw"]]
    middle_of = lambda key: sorted(one[key] for one in inside)[len(inside) // 2]  # noqa: E731
    return [
        Figure(
            "draw",
            "layout and drawing to PDF, per dish",
            middle_of("draw_s") / 200 * 1000,
            "ms",
            "as many bare reportlab paths",
            middle_of("draw_s") / middle_of("bare_s"),
        ),
        Figure(
            "draw",
            "of that, layout, checks and display list",
            middle_of("lay_s") / 200 * 1000,
            "ms",
            "as many bare reportlab paths",
            middle_of("lay_s") / middle_of("bare_s"),
        ),
    ]


def prep(folder: str, options) -> list[Figure]:
    """The lists for 300 covers over 200 dishes with recipes five deep, against reading the files."""
    place = kitchen.write(kitchen.menu(200, recipes=200, deep=5, seed=3), os.path.join(folder, "prep"))
    runs = in_turn({"prep": (baseline("prep", place), folder)}, options.runs)
    inside = [json.loads(run.out) for run in runs["prep"]]
    plan, read = (sorted(one[key] for one in inside)[len(inside) // 2] for key in ("plan_s", "read_s"))
    return [
        Figure(
            "prep",
            "preparation and order lists, 200 dishes, 300 covers",
            plan * 1000,
            "ms",
            "reading and resolving the same files",
            plan / read,
        )
    ]


BENCHES = {
    "start": start,
    "cold": cold,
    "batch": batch,
    "edit": edit,
    "derive": derive,
    "guest": guest,
    "draw": draw,
    "prep": prep,
}


def table(figures: list[Figure]) -> str:
    rows = [("bench", "what", "value", "ratio", "to", "target", "")]
    for f in figures:
        rows.append(
            (
                f.bench,
                f.what,
                f"{f.value:.3g} {f.unit}".strip() if f.value < 1000 else f"{f.value:.0f} {f.unit}",
                "" if f.times is None else f"{f.times:.2f}",
                f.baseline,
                f.target,
                "" if f.met is None else "met" if f.met else "MISSED",
            )
        )
    wide = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return "\n".join(
        "  ".join(
            cell.rjust(w) if i in (2, 3) else cell.ljust(w) for i, (cell, w) in enumerate(zip(row, wide))
        ).rstrip()
        for row in rows
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(BENCHES))
    parser.add_argument("--json", action="store_true", help="the figures for other programs")
    parser.add_argument("--runs", type=int, default=5, help="how often each process is run (long ones less often)")
    parser.add_argument("--dishes", type=int, default=1000, help="how many dishes the batch has")
    options = parser.parse_args()
    if unknown := [n for n in options.names if n not in BENCHES]:
        parser.error(f"there is no benchmark {', '.join(unknown)}; there are {', '.join(BENCHES)}")
    figures: list[Figure] = []
    folder = tempfile.mkdtemp(prefix="platecard-bench-")
    try:
        for name in options.names or BENCHES:
            figures += BENCHES[name](folder, options)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    print(json.dumps([asdict(f) for f in figures], indent=1) if options.json else table(figures))
    return 0


if __name__ == "__main__":
    sys.exit(main())
