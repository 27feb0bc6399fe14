"""Faults planted in the code one at a time, to see whether the tests beside it notice.

Run it from the root: ``python -m tests.damage.planted_faults --seed 1 --faults 100``.  It copies the tree
to a temporary folder, writes one module of ``TABLE`` with one fault into the copy, and runs that
module's test files there until the first of them fails.  The worktree itself is never written to.
``--jobs 2`` does so in two copies at once.
A fault that was not noticed is a test that is missing, or is equivalent: then it belongs into
``EQUIVALENT``, with the reason.
"""

from __future__ import annotations

import argparse
import ast
import os
import queue
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
COPIED = ("platecard", "tests", "specs", "shared", "pyproject.toml", "README.md")
SECONDS = 600
BYTE_CODE = "byte-code"

# Each module below platecard/, and the test files that must notice a fault in it, the quick ones first.
_DIFF = (
    "diff/compare_places diff/compare_kitchen diff/compare_treatment allergens/kitchen_slips diff/compare "
    "documents/changed_plate"
)
_CAUTIONS = "service/caution_edges service/cautions service/verdicts service/cautions_by_food"
_TRACES = (
    "allergens/statement_slips allergens/kitchen_slips allergens/acknowledgement allergens/left_out "
    "allergens/left_off_labels allergens/cross_contact allergens/law_cases "
    "allergens/acknowledgement_and_matrix allergens/cross_contact_reference"
)
_STATEMENT = (
    "allergens/statement_slips allergens/kitchen_slips allergens/acknowledgement allergens/left_out "
    "allergens/left_off_labels allergens/levels allergens/law_cases allergens/acknowledgement_and_matrix "
    "allergens/sulphites"
)
TABLE: dict[str, tuple[str, ...]] = {
    module: tuple("tests/{}/test_{}.py".format(*name.rsplit("/", 1)) for name in tests.split())
    for module, tests in {
        "allergens/traces.py": _TRACES,
        "allergens/statement.py": _STATEMENT,
        "allergens/derivation.py": _STATEMENT,
        "allergens/cross_contact.py": (
            "allergens/statement_slips allergens/cross_contact allergens/sulphites "
            "allergens/cross_contact_documents allergens/cross_contact_reference"
        ),
        "allergens/residue.py": (
            "allergens/statement_slips allergens/kitchen_slips allergens/cross_contact "
            "allergens/cross_contact_reference"
        ),
        "allergens/sulphites.py": (
            "allergens/statement_slips allergens/kitchen_slips allergens/sulphites allergens/law_cases"
        ),
        "allergens/acknowledgement.py": (
            "allergens/statement_slips allergens/kitchen_slips allergens/acknowledgement "
            "allergens/acknowledgement_and_matrix allergens/cross_contact"
        ),
        "allergens/guests/answers.py": (
            "allergens/guests/guest_reasons allergens/guests/guest_question allergens/kitchen_slips "
            "allergens/acknowledgement allergens/sulphites documents/front_of_house allergens/guests/guest_words"
        ),
        "allergens/guests/foods.py": (
            "allergens/guests/guest_reasons allergens/guests/guest_question allergens/kitchen_slips "
            "allergens/named_foods documents/front_of_house allergens/guests/guest_words"
        ),
        "allergens/labels/check.py": (
            "allergens/kitchen_slips allergens/left_off_labels allergens/labels/label_lists "
            "allergens/labels/label_texts allergens/labels/label_edges"
        ),
        "recipes/resolve.py": (
            "recipes/names recipes/balance recipes/recipes allergens/acknowledgement quantities/amounts service/yields"
        ),
        "recipes/on_plate.py": "recipes/names recipes/recipes quantities/amounts service/yields",
        "recipes/weights.py": "recipes/names recipes/recipes quantities/amounts service/yields",
        "recipes/balance.py": (
            "recipes/balance allergens/kitchen_slips recipes/recipes quantities/amounts service/yields"
        ),
        "quantities/units.py": (
            "quantities/unit_slips quantities/units quantities/amounts quantities/units_reference "
            "allergens/kitchen_slips"
        ),
        "quantities/temperatures.py": (
            "quantities/unit_slips quantities/units quantities/units_reference service/cautions"
        ),
        "quantities/amounts.py": "quantities/unit_slips quantities/amounts quantities/units",
        "quantities/durations.py": "quantities/unit_slips quantities/shelf_life service/fire quantities/units",
        "layout/checks.py": (
            "layout/layout_slips layout/near_misses layout/support layout/layout_checks layout/arrangements "
            "layout/placing"
        ),
        "service/prep.py": "service/lists service/prep quantities/shelf_life cli/prep_cli",
        "service/orders.py": "service/lists allergens/kitchen_slips service/prep service/cost cli/prep_cli",
        "service/cost.py": "service/lists service/cost service/yields cli/prep_cli",
        "service/cautions.py": _CAUTIONS,
        "service/caution_facts.py": _CAUTIONS,
        "service/verdicts.py": "service/verdicts service/cautions service/caution_edges",
        "service/fire.py": "service/fire cli/fire_cli",
        "diff/allergens.py": _DIFF,
        "diff/change.py": _DIFF,
        "diff/change_words.py": _DIFF,
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
        "if math.hypot(*f.centre) + math.hypot(f.length_mm, f.width_mm) / 2 <= least:",
        "branch never taken",
    ): "a piece well inside is found to be so when it is measured; this only saves the measuring",
    (
        "layout/checks.py",
        "if two[1] <= one[3] + by and one[1] <= two[3] + by:",
        "branch always taken",
    ): "a pair that is further apart is clear when it is measured; the boxes only save the measuring",
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
    (
        "diff/service.py",
        """by = f", {_money(Money(abs(apart), now.money.currency))} {'more' if apart > 0 else 'less'}\"""",
        "old and new swapped",
    ): "a difference of two costs is told only where both are in one currency",
    (
        "diff/plates.py",
        'yield from others("text", now.key, now.called, was, now, _COMPONENT, now.span)',
        "old and new swapped",
    ): "every field of a component has words of its own; only a new one would be told here",
    (
        "diff/recipes.py",
        'yield from others("recipe", key, name, was, now, known, now.span)',
        "old and new swapped",
    ): "every field of a recipe has words of its own; only a new one would be told here",
    (
        "diff/recipes.py",
        "key = now.key",
        "old and new swapped",
    ): "recipes and products are compared with those of the same key",
    (
        "diff/allergens.py",
        "left = tuple(n for n in _names(was) if n not in _names(now)) if up == 0 else ()",
        "branch always taken",
    ): "the names that left are told only where the rank stayed the same",
    (
        "allergens/cross_contact.py",
        "if state == UNKNOWN and passed.owner[1]:  # for a spec that is in doubt, its name says so",
        "constant changed",
    ): "a spec in doubt has neither a component nor a source",
    (
        "diff/change.py",
        "return tuple(bare(v) for v in value if not isinstance(v, Span))",
        "filter dropped",
    ): "a place then stands as nothing, in both revisions alike",
    (
        "allergens/guests/answers.py",
        "if _passes(now):",
        "branch always taken",
    ): "a plate meets what its parts meet, each of which passes by itself by then; it is asked again for safety",
    (
        "allergens/guests/answers.py",
        "nodes = (*avoid.nodes, *foods.nodes_of(avoid.kinds)) if self.on_record else ()",
        "branch always taken",
    ): "where nothing is on record, nothing is found on it",
    (
        "service/caution_facts.py",
        'frozenset({Food("plant", use.called)}) if line.handling.foraged else frozenset()',
        "branch always taken",
    ): "a plant is asked about by no rule unless it is foraged",
    (
        "service/fire.py",
        "return tuple(s.key for s in component.finish if s.key not in waited) "
        "or tuple(s.key for s in component.finish[-1:])",
        "constant changed",
    ): "a component whose steps form a loop is told and never timed, so it does not matter which step stands for it",
    (
        "allergens/traces.py",
        'found += [Trace(node, MAY, "", (here,)) for node in entry.may if node not in present]',
        "filter dropped",
    ): "no ingredient of the catalogue has an allergen in both its lists, and contains would outrank may contain",
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
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            pass  # it is never taken when the program runs: what stands under it is for type checkers
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
            if not _keeps(node):
                yield "branch always taken", put("test", ast.Constant(True))
            yield "branch never taken", put("test", ast.Constant(False))
        case ast.comprehension(ifs=[_, *_]):
            yield "filter dropped", put("ifs", [])


def _keeps(node: ast.If | ast.IfExp) -> bool:
    """Whether it only keeps a value for later calls (``if key not in self.kept: ...; self.kept[key] = value``).

    Always taken, it works the same value out again, which changes nothing but the time that it takes.
    In a local dictionary it may be the first of several that counts, so there the fault is planted.
    """
    match node:
        case ast.If(
            test=ast.Compare(left=key, ops=[ast.NotIn()], comparators=[ast.Attribute() as kept]),
            body=[*_, ast.Assign(targets=[ast.Subscript(value=into, slice=at)])],
            orelse=[],
        ):
            return ast.dump(kept) == ast.dump(into) and ast.dump(key) == ast.dump(at)
    return False


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


def run(
    tree: Path,
    tests: tuple[str, ...],
    *options: str,
    writes_byte_code: bool = False,
    seconds: float | None = None,
) -> bool | None:
    """Whether pytest is content with the test files in a copy of the tree; None where it does not end in time.

    Most of a short run is compiling, so what is not faulty is compiled once, beside the copies; with a fault no byte
    code is written, and none outlives its module.
    """
    environment = {**os.environ, "PYTHONPATH": str(tree), "PYTHONPYCACHEPREFIX": str(tree.parent / BYTE_CODE)}
    environment["PYTHONDONTWRITEBYTECODE"] = "" if writes_byte_code else "1"
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-n0", "-q", "-x", "-p", "no:cacheprovider", *options, *tests],
            cwd=tree,
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=seconds,
        )
    except subprocess.TimeoutExpired:
        return None
    return done.returncode == 0


def is_noticed(tree: Path, module: str, number: int) -> bool | None:
    """Whether the tests beside a module fail with one fault in it; the module is put right again.

    None where they do not come to an end: that is noticed too, but said, for the machine may only have been busy.
    """
    parsed = ast.parse(source(module))
    faults(parsed)[number].plant()
    place = tree / "platecard" / module
    was = place.stat()
    place.write_text(ast.unparse(ast.fix_missing_locations(parsed)), encoding="utf-8")
    try:
        passed = run(tree, TABLE[module], seconds=SECONDS)
        return None if passed is None else not passed
    finally:
        place.write_text(source(module), encoding="utf-8")
        os.utime(place, ns=(was.st_atime_ns, was.st_mtime_ns))


def main() -> int:
    arguments = argparse.ArgumentParser(description="plant faults one at a time and see whether the tests notice")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--faults", type=int, default=100, metavar="N", help="how many (100)")
    arguments.add_argument("--module", action="append", metavar="NAME", help="only modules whose path begins so")
    arguments.add_argument("--jobs", type=int, default=1, metavar="N", help="how many copies at once (1)")
    arguments.add_argument("--unchecked", action="store_true", help="the tests are known to pass without a fault")
    asked = arguments.parse_args()
    modules = [m for m in TABLE if not asked.module or m.startswith(tuple(asked.module))]
    planted = chosen(modules, asked.faults, asked.seed)
    of_each = Counter(module for module, _ in planted)
    with tempfile.TemporaryDirectory() as folder:
        trees = [copied(Path(folder) / str(i)) for i in range(asked.jobs)]
        needed = tuple(dict.fromkeys(test for module, _ in planted for test in TABLE[module]))
        if not asked.unchecked and not run(trees[0], needed):
            print("the tests do not pass without any fault: nothing was planted")
            return 2
        free: queue.SimpleQueue[Path] = queue.SimpleQueue()
        for tree in trees:
            run(tree, needed, "--collect-only", writes_byte_code=True)
            free.put(tree)

        def noticed(module: str, number: int) -> bool:
            tree = free.get()
            try:
                answer = is_noticed(tree, module, number)
            finally:
                free.put(tree)
            if not answer:
                fault = faults(ast.parse(source(module)))[number]
                said = "not noticed" if answer is False else "did not come to an end"
                print(f"{said}: {module}:{fault.line}: {fault.what}: {name(module, fault)[1]}", flush=True)
            return answer is not False

        with ThreadPoolExecutor(asked.jobs) as pool:
            answers = list(pool.map(noticed, *zip(*planted)))
    of_noticed = Counter(module for (module, _), answer in zip(planted, answers) if answer)
    for module, number in of_each.items():
        print(f"{of_noticed[module]:4} of {number:4}  {module}")
    print(f"{sum(answers)} of {len(planted)} faults were noticed (seed {asked.seed})")
    return 0


if __name__ == "__main__":
    sys.exit(main())
