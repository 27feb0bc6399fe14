"""The layers hold: each part of the package knows only what stands above it in ``layers.txt``, and parts on one line
are strangers.
"""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

import platecard

BASE = Path(platecard.__file__).parent

HERE = Path(__file__).parent
TABLE = (HERE / "layers.txt").read_text(encoding="utf-8")
LEVEL = {part: i for i, line in enumerate(TABLE.splitlines()) for part in line.split()[1:]}
# The way in stands beside the road: nothing may need it.
ENTRY = {"__main__", "__init__"}


def part_of(path: Path) -> str:
    return path.relative_to(BASE).with_suffix("").parts[0]


def modules() -> list[Path]:
    return sorted(p for p in BASE.rglob("*.py") if "data" not in p.relative_to(BASE).parts)


@cache
def nodes(path: Path) -> list[ast.AST]:
    """Every node of a module."""
    return list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


@cache
def imports(path: Path) -> list[tuple[str, int]]:
    """(the part of platecard, line) of every import, those inside functions too."""
    inside = path.relative_to(BASE).parts[:-1]
    found = []
    for node in nodes(path):
        if isinstance(node, ast.ImportFrom):
            if node.level:
                base = inside[: len(inside) - (node.level - 1)]
                full = (*base, *(node.module.split(".") if node.module else ()))
            elif node.module and node.module.split(".")[0] == "platecard":
                full = tuple(node.module.split(".")[1:])
            else:
                continue
            found += [(full[0], node.lineno)] if full else [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.Import):
            found += [
                (alias.name.split(".")[1], node.lineno) for alias in node.names if alias.name.startswith("platecard.")
            ]
    return [(name, line) for name, line in found if name != "__version__"]


def edges() -> set[tuple[str, str, str]]:
    return {
        (part_of(path), name, f"{path.relative_to(BASE)}:{line}")
        for path in modules()
        for name, line in imports(path)
        if part_of(path) != name
    }


def test_each_part_stands_in_the_table():
    assert {part_of(p) for p in modules()} - ENTRY == set(LEVEL)


def test_each_part_knows_only_what_stands_above_it():
    wrong = [
        f"{where}: {part} imports {name}"
        for part, name, where in sorted(edges())
        if part not in ENTRY and (name not in LEVEL or LEVEL[name] >= LEVEL[part])
    ]
    assert wrong == []


def test_the_contributors_guide_shows_the_table():
    assert TABLE.strip() in (BASE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_drawing_knows_only_itself():
    assert [where for part, name, where in sorted(edges()) if part == "drawing"] == []


def test_there_are_no_loops():
    graph: dict[str, set[str]] = {}
    for part, name, _ in edges():
        graph.setdefault(part, set()).add(name)

    def reach(part: str, road: tuple[str, ...] = ()) -> None:
        assert part not in road, " > ".join((*road, part))
        for name in sorted(graph.get(part, ())):
            reach(name, (*road, part))

    for part in sorted(graph):
        reach(part)


def test_only_the_edges_open_files_and_only_the_command_line_prints():
    """Reading: files and the packaged data; writing: the output, the starter spec, and a key that gets another name.
    What is drawn is made anew with another program, so that is read too."""
    opening, printing = set(), set()
    for path in modules():
        for node in nodes(path):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                (opening if node.func.id == "open" else printing if node.func.id == "print" else set()).add(
                    str(path.relative_to(BASE))
                )
    assert {p.split("/")[0] if p.startswith("cli/") else p for p in opening} <= {
        "files/reading.py",
        "files/renaming.py",
        "package_data.py",
        "publishing/disk.py",
        "publishing/rendered.py",
        "cli",
    }
    assert {p.split("/")[0] for p in printing} <= {"cli", "__main__.py"}


def test_nothing_runs_text_as_code_or_opens_a_connection():
    """But for asking version control for an earlier copy, with a list of arguments and no shell, and for handing
    dishes to workers: what is unpickled there was pickled by this program a moment before, as an executor does itself.
    """
    allowed = {"earlier.py": {"subprocess"}, "workers.py": {"pickle"}}
    calls, modules_used = set(), set()
    for path in modules():
        for node in nodes(path):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in {"eval", "exec", "compile", "__import__"} - allowed.get(path.name, set())
            ):
                calls.add(str(path))
            names = (
                [a.name for a in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom) and not node.level
                else []
            )
            modules_used |= {n.split(".")[0] for n in names} - allowed.get(path.name, set())
            if isinstance(node, ast.keyword) and node.arg == "shell":
                calls.add(f"{path}: shell")
    assert calls == set()
    assert not modules_used & {
        "subprocess",
        "socket",
        "ssl",
        "http",
        "urllib",
        "ftplib",
        "smtplib",
        "pickle",
        "shelve",
        "marshal",
        "ctypes",
        "requests",
        "importlib",
    }


def loaded(*arguments: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "platecard", *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONNODEBUGRANGES": "1"},
    )
    assert done.returncode == 0, done.stderr
    return {
        line.rsplit("|", 1)[1].strip()
        for line in done.stderr.splitlines()
        if line.startswith("import time:") and "imported package" not in line
    }


@pytest.fixture(scope="module")
def bare() -> set[str]:
    """What Python itself loads to run a module that does nothing."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "__hello__"], capture_output=True, text=True, timeout=60
    )
    return {line.rsplit("|", 1)[1].strip() for line in done.stderr.splitlines() if line.startswith("import time:")}


def test_the_version_loads_nothing_but_python(bare):
    # Two names for the running of a module with -m; the installed command does without them.
    assert loaded("--version") - bare <= {
        "platecard",
        "__hello__",
        "runpy",
        "importlib.util",
        "importlib.machinery",
        "importlib._abc",
        "contextlib",
        "warnings",
    }


def test_the_help_loads_no_reader_no_writer_and_no_checker():
    heavy = {
        "yaml",
        "reportlab",
        "svgwrite",
        "jsonschema",
        "jsonschema_rs",
        "json",
        "dataclasses",
        "fractions",
        "hashlib",
        "xml",
        "unicodedata",
        "difflib",
        "subprocess",
    }
    found = {name.split(".")[0] for name in loaded("--help")}
    assert found & heavy == set()
    assert {name for name in loaded("--help") if name.startswith("platecard")} <= {
        "platecard",
        "platecard.cli",
        "platecard.cli.shared",
        "platecard.cli.terminal",
    }


def test_a_check_loads_no_writer():
    found = {name.split(".")[0] for name in loaded("schema")}
    assert found & {"yaml", "reportlab", "svgwrite", "jsonschema", "jsonschema_rs"} <= {"yaml"}
