"""A kitchen on disk for each test that asks for one, and the same examples in every run."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from platecard import cli
from tests.kitchens import Run, kitchen

settings.register_profile(
    "kitchen",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=40,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("kitchen")


class Room:
    """A project folder: files go in, commands run in it."""

    def __init__(self, root: Path, capsys):
        self.root, self.capsys = root, capsys

    def write(self, files: dict[str, str | bytes]) -> Room:
        for name, what in files.items():
            path = self.root / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(what if isinstance(what, bytes) else what.encode())
        return self

    def run(self, *arguments: str) -> Run:
        """One command in this process; anything thrown fails the test."""
        self.capsys.readouterr()
        try:
            code = cli.run(list(arguments))
        except SystemExit as stop:
            code = stop.code
        out, err = self.capsys.readouterr()
        assert "Traceback" not in out + err
        return Run(code, out, err, json.loads(out) if "json" in arguments and out else None)

    def copies(self, *arguments: str) -> Run:
        """A comparison of copies out of version control, each named as REVISION:PATH, which no command takes."""
        from unittest import mock

        from platecard.cli import pictures
        from platecard.files import earlier

        as_ever = pictures._side

        def side(said, options):
            if os.path.exists(said) or ":" not in said:
                return as_ever(said, options)
            revision, _, path = said.partition(":")
            return pictures._one_dish(said, earlier.read_project(revision, path, options.kitchen), revision)

        with mock.patch.object(pictures, "_side", side):
            return self.run(*arguments)

    def command(self, *arguments: str, cwd: Path | None = None, **environment: str) -> Run:
        """One command as the installed program, in a process of its own."""
        installed = Path(sys.executable).with_name("platecard")
        program = [str(installed)] if installed.exists() else [sys.executable, "-m", "platecard"]
        done = subprocess.run(
            [*program, *arguments],
            cwd=cwd or self.root,
            env={**os.environ, **environment},
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            timeout=60,
        )
        assert "Traceback" not in done.stdout + done.stderr, done.stderr
        return Run(done.returncode, done.stdout, done.stderr)

    def cards(self, out: str = "output") -> list[str]:
        """Of these the plate and the pass card, which every dish has; a kitchen's settings may bring more."""
        return [name for name in self.made(out) if name.endswith(("/plate.svg", "/pass-card.pdf"))]

    def problems(self, *paths: str) -> list[dict]:
        return self.run("check", "--format", "json", *paths).data

    def errors(self, *paths: str) -> list[tuple[str, str]]:
        """(slug, file:line:column) of every error."""
        return [
            (p["slug"], f"{p['file']}:{p['line']}:{p['column']}")
            for p in self.problems(*paths)
            if p["severity"] == "error"
        ]

    def files(self, out: str = "output") -> list[str]:
        """Every file below the output folder but the builder's own: its record, its lock and the pages it keeps."""
        base = self.root / out
        return sorted(
            str(p.relative_to(base))
            for p in base.rglob("*")
            if p.is_file() and p.name not in (".made.json", ".lock") and p.parent.name != ".cards"
        )

    def made(self, out: str = "output") -> list[str]:
        """The documents of single dishes; those of the whole menu lie in folders of that name."""
        return [name for name in self.files(out) if "menu" not in name.split("/")]

    def bytes_of(self, out: str = "output") -> dict[str, bytes]:
        return {name: (self.root / out / name).read_bytes() for name in self.files(out)}


@pytest.fixture
def room(tmp_path, monkeypatch, capsys) -> Room:
    """An empty project folder, which is also the current one."""
    monkeypatch.chdir(tmp_path)
    return Room(tmp_path, capsys)


@pytest.fixture
def no_other_fonts(monkeypatch):
    """Nothing is installed for other writing systems than Latin, Greek and Cyrillic."""
    from tests.other_fonts import forgotten

    with forgotten():
        monkeypatch.setattr("platecard.drawing.script_fonts.place_of", lambda key: "")
        yield


@pytest.fixture
def galley(room) -> Room:
    """The small sound kitchen with its one dish."""
    return room.write(kitchen())
