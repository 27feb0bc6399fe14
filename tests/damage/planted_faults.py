"""Faults planted in the code one at a time, to see whether the tests beside it notice.

Run it from the root: ``python -m tests.damage.planted_faults --seed 1 --faults 100``.  It copies the tree
to a temporary folder, writes one module of ``TABLE`` with one fault into the copy, and runs that
module's test files there until the first of them fails.  The worktree itself is never written to.
A fault that was not noticed is a test that is missing, or is equivalent: then it belongs into
``EQUIVALENT``, with the reason.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
COPIED = ("platecard", "tests", "specs", "shared", "pyproject.toml", "README.md")
SECONDS = 240

# Each module below platecard/, and the test files that must notice a fault in it, the quick ones first.
_DIFF = "diff/compare_kitchen allergens/kitchen_slips diff/compare documents/changed_plate"
_TRACES = (
    "allergens/acknowledgement allergens/left_out allergens/cross_contact allergens/law_cases "
    "allergens/acknowledgement_and_matrix allergens/cross_contact_reference"
)
TABLE: dict[str, tuple[str, ...]] = {
    module: tuple("tests/{}/test_{}.py".format(*name.rsplit("/", 1)) for name in tests.split())
    for module, tests in {
        "allergens/traces.py": _TRACES,
        "allergens/statement.py": (
            "allergens/kitchen_slips allergens/acknowledgement allergens/left_out allergens/law_cases "
            "allergens/acknowledgement_and_matrix allergens/sulphites"
        ),
        "allergens/cross_contact.py": (
            "allergens/cross_contact allergens/sulphites allergens/cross_contact_documents "
            "allergens/cross_contact_reference"
        ),
        "allergens/residue.py": "allergens/cross_contact allergens/cross_contact_reference",
        "allergens/sulphites.py": "allergens/sulphites allergens/law_cases",
        "allergens/acknowledgement.py": (
            "allergens/kitchen_slips allergens/acknowledgement allergens/acknowledgement_and_matrix "
            "allergens/cross_contact"
        ),
        "allergens/guests/answers.py": (
            "allergens/guests/guest_question allergens/kitchen_slips allergens/acknowledgement "
            "documents/front_of_house allergens/sulphites allergens/guests/guest_words"
        ),
        "allergens/guests/foods.py": (
            "allergens/guests/guest_question allergens/kitchen_slips allergens/named_foods "
            "documents/front_of_house allergens/guests/guest_words"
        ),
        "allergens/labels/check.py": (
            "allergens/kitchen_slips allergens/labels/label_texts allergens/labels/label_edges"
        ),
        "recipes/resolve.py": "recipes/recipes allergens/acknowledgement quantities/amounts service/yields",
        "recipes/on_plate.py": "recipes/recipes quantities/amounts service/yields",
        "recipes/weights.py": "recipes/recipes quantities/amounts service/yields",
        "recipes/balance.py": "allergens/kitchen_slips recipes/recipes quantities/amounts service/yields",
        "quantities/units.py": "allergens/kitchen_slips quantities/units quantities/amounts quantities/units_reference",
        "quantities/temperatures.py": "quantities/units quantities/units_reference service/cautions",
        "quantities/amounts.py": "quantities/amounts quantities/units",
        "quantities/durations.py": "quantities/shelf_life service/fire quantities/units",
        "layout/checks.py": "layout/layout_checks layout/arrangements layout/placing",
        "service/prep.py": "service/prep quantities/shelf_life cli/prep_cli",
        "service/orders.py": "allergens/kitchen_slips service/prep service/cost cli/prep_cli",
        "service/cost.py": "service/cost cli/prep_cli",
        "service/cautions.py": "service/cautions service/verdicts service/cautions_by_food",
        "service/caution_facts.py": "service/cautions service/verdicts service/cautions_by_food",
        "service/verdicts.py": "service/verdicts service/cautions",
        "service/fire.py": "service/fire cli/fire_cli",
        "diff/allergens.py": _DIFF,
        "diff/change.py": _DIFF,
        "diff/dishes.py": _DIFF,
        "diff/matching.py": _DIFF,
        "diff/plates.py": _DIFF,
        "diff/recipes.py": _DIFF,
        "diff/service.py": _DIFF,
        "diff/steps.py": _DIFF,
        "diff/timing.py": _DIFF,
    }.items()
}

# Faults that change nothing that anyone could see: module, source line, fault → why.
EQUIVALENT: dict[tuple[str, str, str], str] = {
    (
        "layout/checks.py",
        "outer = max(float(plate.outer_mm), float(plate.outer_far_mm or 0))",
        "constant changed",
    ): "a plate is never smaller than the 1 mm that stands in for a side that is not said",
    (
        "allergens/residue.py",
        "position = 0",
        "constant changed",
    ): "positions are only compared with each other, so they may all be later by one",
}

TURNED = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt,
}  # fmt: skip
SHIFTED = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
SIGNS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
REVISIONS = (("old", "new"), ("was", "now"), ("before", "after"))
OTHER_REVISION = {a: b for pair in REVISIONS for a, b in (pair, pair[::-1])}


@dataclass(frozen=True)
class Fault:
    """One fault: what it does, on which line, and how it is planted in the parsed module."""

    what: str
    line: int
    plant: Callable[[], object]


def faults(tree: ast.Module) -> list[Fault]:
    """Every fault that can be planted in a module, in the order of its text."""
    return [Fault(what, node.lineno, plant) for node in _code(tree) for what, plant in _faults(node)]


def _code(node: ast.AST) -> Iterator[ast.expr | ast.stmt | ast.comprehension]:
    """Every node that does something: no annotations, no decorators."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST):
                continue
            if isinstance(child, ast.expr | ast.stmt):
                yield child
            elif isinstance(child, ast.comprehension):
                child.lineno = child.target.lineno  # type: ignore[attr-defined]
                yield child
            yield from _code(child)


def _faults(node: ast.AST) -> Iterator[tuple[str, Callable[[], object]]]:
    def put(name: str, value: object, owner: ast.AST = node) -> Callable[[], object]:
        return lambda: setattr(owner, name, value)

    match node:
        case ast.Compare(ops=[op]):
            yield "comparison turned", put("ops", [TURNED[type(op)]()])
            if type(op) in SHIFTED:
                yield "boundary shifted", put("ops", [SHIFTED[type(op)]()])
        case ast.BoolOp(op=op):
            yield "and/or swapped", put("op", ast.Or() if isinstance(op, ast.And) else ast.And())
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "not dropped", lambda: _become(node, operand)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            yield "sign turned", lambda: _become(node, operand)
        case ast.BinOp(op=op) | ast.AugAssign(op=op) if type(op) in SIGNS:
            yield "sign turned", put("op", SIGNS[type(op)]())
        case ast.Constant(value=bool() as value):
            yield "constant changed", put("value", not value)
        case ast.Constant(value=int() | float() as value):
            yield "constant changed", put("value", value + 1)
        case ast.Name(id=name, ctx=ast.Load()) if name in OTHER_REVISION:
            yield "old and new swapped", put("id", OTHER_REVISION[name])
        case ast.FunctionDef(body=body) if len(body) > 1:
            first = 1 if ast.get_docstring(node) else 0
            yield "early return", put("body", [*body[:first], ast.Return(), *body[first:]])
        case ast.If() | ast.IfExp():
            yield "branch always taken", put("test", ast.Constant(True))
            yield "branch never taken", put("test", ast.Constant(False))
        case ast.comprehension(ifs=[_, *_]):
            yield "filter dropped", put("ifs", [])


def _become(node: ast.AST, other: ast.AST) -> None:
    """The node as the other one."""
    node.__class__ = other.__class__  # type: ignore[assignment]
    node.__dict__.clear()
    node.__dict__.update(other.__dict__)


def source(module: str) -> str:
    return (ROOT / "platecard" / module).read_text(encoding="utf-8")


def name(module: str, fault: Fault) -> tuple[str, str, str]:
    """The fault as ``EQUIVALENT`` names it."""
    return module, source(module).splitlines()[fault.line - 1].strip(), fault.what


def chosen(modules: list[str], number: int, seed: int) -> list[tuple[str, int]]:
    """So many faults of these modules, each with its number in the module; equivalent ones are passed over."""
    every = [
        (module, i)
        for module in modules
        for i, fault in enumerate(faults(ast.parse(source(module))))
        if name(module, fault) not in EQUIVALENT
    ]
    return sorted(random.Random(seed).sample(every, min(number, len(every))))


def copied(folder: Path) -> Path:
    """The tree in a folder of its own."""
    for part in COPIED:
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, folder / part)
        else:
            shutil.copy2(ROOT / part, folder / part)
    return folder


def tests_pass(tree: Path, tests: tuple[str, ...]) -> bool:
    """Whether the test files pass in a copy of the tree; a test that does not come to an end has failed."""
    command = [sys.executable, "-m", "pytest", "-n0", "-q", "-x", "-p", "no:cacheprovider"]
    try:
        done = subprocess.run(
            [*command, *tests],
            cwd=tree,
            # Without byte code on the disk no fault outlives its module.
            env={**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=SECONDS,
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def is_noticed(tree: Path, module: str, number: int) -> bool:
    """Whether the tests beside a module fail with one fault in it; the module is put right again."""
    parsed = ast.parse(source(module))
    faults(parsed)[number].plant()
    place = tree / "platecard" / module
    for cached in (place.parent / "__pycache__").glob(f"{place.stem}.*.pyc"):
        cached.unlink()
    place.write_text(ast.unparse(ast.fix_missing_locations(parsed)), encoding="utf-8")
    try:
        return not tests_pass(tree, TABLE[module])
    finally:
        place.write_text(source(module), encoding="utf-8")


def main() -> int:
    arguments = argparse.ArgumentParser(description="plant faults one at a time and see whether the tests notice")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--faults", type=int, default=100, metavar="N", help="how many (100)")
    arguments.add_argument("--module", action="append", metavar="NAME", help="only modules whose path begins so")
    arguments.add_argument("--unchecked", action="store_true", help="the tests are known to pass without a fault")
    asked = arguments.parse_args()
    modules = [m for m in TABLE if not asked.module or m.startswith(tuple(asked.module))]
    planted = chosen(modules, asked.faults, asked.seed)
    noticed = 0
    with tempfile.TemporaryDirectory() as folder:
        tree = copied(Path(folder))
        needed = tuple(dict.fromkeys(test for module, _ in planted for test in TABLE[module]))
        if not asked.unchecked and not tests_pass(tree, needed):
            print("the tests fail without any fault: nothing was planted")
            return 2
        for module, number in planted:
            fault = faults(ast.parse(source(module)))[number]
            if is_noticed(tree, module, number):
                noticed += 1
            else:
                print(f"not noticed: {module}:{fault.line}: {fault.what}: {name(module, fault)[1]}", flush=True)
    print(f"{noticed} of {len(planted)} faults were noticed (seed {asked.seed})")
    return 0


if __name__ == "__main__":
    sys.exit(main())
