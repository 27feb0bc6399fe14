"""The table of ``planted_faults.py`` names what there is, and its list of equivalent faults is not outdated."""

from __future__ import annotations

import ast

import pytest

from tests.damage import planted_faults


@pytest.mark.parametrize("module", planted_faults.TABLE)
def test_every_module_of_the_table_and_its_test_files_exist(module):
    assert planted_faults.faults(ast.parse(planted_faults.source(module)))
    for test in planted_faults.TABLE[module]:
        assert (planted_faults.ROOT / test).is_file(), test


def test_every_comparison_is_in_the_table():
    there = {f"diff/{p.name}" for p in (planted_faults.ROOT / "platecard" / "diff").glob("*.py")} - {"diff/__init__.py"}
    assert there == {module for module in planted_faults.TABLE if module.startswith("diff/")}


def test_every_fault_called_equivalent_can_be_planted():
    for module, line, what in planted_faults.EQUIVALENT:
        found = planted_faults.faults(ast.parse(planted_faults.source(module)))
        assert (module, line, what) in [planted_faults.name(module, fault) for fault in found]


def test_one_seed_chooses_the_same_faults_again():
    modules = ["diff/allergens.py", "service/cost.py"]
    once, again = (planted_faults.chosen(modules, 20, seed=5) for _ in range(2))
    assert once == again and len(set(once)) == 20
    assert once != planted_faults.chosen(modules, 20, seed=6)


def test_a_planted_fault_is_the_only_difference():
    text = "def f(old, new):\n    if old < new and not new:\n        return 1\n    return old\n"
    planted = set()
    for i, fault in enumerate(planted_faults.faults(ast.parse(text))):
        tree = ast.parse(text)
        planted_faults.faults(tree)[i].plant()
        planted.add((fault.what, ast.unparse(ast.fix_missing_locations(tree))))
    whole = ast.unparse(ast.parse(text))

    def with_(was: str, now: str) -> str:
        assert text.count(was) == 1
        return ast.unparse(ast.parse(text.replace(was, now)))

    assert all(mutant != whole for _, mutant in planted)
    assert ("boundary shifted", with_(" < ", " <= ")) in planted
    assert ("comparison turned", with_(" < ", " >= ")) in planted
    assert ("and/or swapped", with_(" and ", " or ")) in planted
    assert ("not dropped", with_("not new", "new")) in planted
    assert ("branch always taken", with_("old < new and not new", "True")) in planted
    assert ("old and new swapped", with_("return old", "return new")) in planted
    assert ("constant changed", with_("return 1", "return 2")) in planted
    assert any(what == "early return" for what, _ in planted)


def test_what_only_type_checkers_read_is_left_alone():
    text = "if TYPE_CHECKING:\n    from a import B\nif CHECKING:\n    from a import C\n"
    assert {fault.line for fault in planted_faults.faults(ast.parse(text))} == {3}


@pytest.mark.parametrize(
    "text, planted",
    [
        ("if k not in self.kept:\n    self.kept[k] = work(k)\n", False),
        ("if (a, b) not in self.kept:\n    x = work(a)\n    self.kept[a, b] = x + b\n", False),
        ("if k not in kept:\n    kept[k] = work(k)\n", True),
        ("if k not in a.kept:\n    a.kept[j] = work(k)\n", True),
        ("if k not in a.kept:\n    a.other[k] = work(k)\n", True),
        ("if k in a.kept:\n    a.kept[k] = work(k)\n", True),
        ("if k not in a.kept:\n    a.kept[k] = work(k)\n    tell(k)\n", True),
        ("if k not in a.kept:\n    a.kept[k] = work(k)\nelse:\n    tell(k)\n", True),
    ],
)
def test_what_is_only_kept_may_be_worked_out_again(text, planted):
    whats = {fault.what for fault in planted_faults.faults(ast.parse(text))}
    assert ("branch always taken" in whats) is planted and "branch never taken" in whats
