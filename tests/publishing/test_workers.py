"""Drawn by whatever executor there is, a menu's documents are the same bytes, and one dish's trouble is its own."""

from __future__ import annotations

import json
import pickle
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import pytest

from platecard import pipeline
from platecard.files.reading import read_project
from platecard.prepared import Prepared
from platecard.publishing import build as builder
from platecard.publishing import lock, rendered, workers

ROOT = Path(__file__).parents[2]


def prepared() -> list[Prepared]:
    """Some dishes of the demo kitchen."""
    project = read_project([str(ROOT / "specs")], str(ROOT / "shared"))
    world = pipeline.world(project.library, project.folder)
    texts = ((s.text, s.file, s.key, s.problems) for s in project.specs)
    return list(pipeline.prepare_menu(texts, world, project.asked))


def documents(out: Path, executor: Executor | None) -> dict[str, bytes]:
    with lock.hold(str(out)) as faults:
        assert not faults
        reports = builder.build(prepared(), str(out), with_menu=True, executor=executor)
    assert {r.state for r in reports} == {"written"}
    return {str(f.relative_to(out)): f.read_bytes() for f in sorted(out.rglob("*")) if f.is_file()}


@pytest.fixture(scope="module")
def alone(tmp_path_factory) -> dict[str, bytes]:
    """The documents of the menu, drawn one dish after the other."""
    return documents(tmp_path_factory.mktemp("alone"), None)


@pytest.mark.parametrize("kind", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_workers_of_this_machine_draw_the_same_bytes(kind, alone, tmp_path):
    with kind(2) as executor:
        assert documents(tmp_path, executor) == alone


def test_a_cluster_draws_the_same_bytes(alone, tmp_path):
    """A cluster on this machine, of an engine that runs on many: its client gives a standard executor."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster,
        distributed.Client(cluster) as client,
        client.get_executor(pure=False) as executor,
    ):
        assert documents(tmp_path, executor) == alone


class Tardy(Executor):
    """Takes a task along only when its result is asked for, as the thread of a pool of processes may."""

    def submit(self, fn, /, *args):
        before = pickle.dumps(args)

        class Later(Future):
            def result(self, timeout=None):
                assert pickle.dumps(args) == before, "the task changed on its way"
                return fn(*args)

        return Later()


def test_a_task_on_its_way_does_not_change_while_other_dishes_are_looked_at(alone, tmp_path):
    assert documents(tmp_path, Tardy()) == alone


class Noting(Executor):
    """Notes what a task takes along."""

    def __init__(self) -> None:
        self.sent: list[tuple[bytes, bytes]] = []

    def submit(self, fn, /, *args):
        self.sent.append(args)
        done = Future()
        done.set_result(fn(*args))
        return done


def test_what_all_dishes_share_is_packed_once_and_not_with_each_handful(alone, tmp_path):
    noting = Noting()
    assert documents(tmp_path, noting) == alone
    assert len(noting.sent) > 1
    first = noting.sent[0][1]
    assert all(shared is first for _, shared in noting.sent)
    # A pickle has the name of every class in it.
    assert b"World" in first
    assert all(b"World" not in handful for handful, _ in noting.sent)


def test_an_executor_that_is_gone_is_said_only_after_what_no_longer_holds_is_withdrawn(tmp_path):
    with ThreadPoolExecutor(1) as gone:
        pass
    with lock.hold(str(tmp_path)):
        builder.build(prepared(), str(tmp_path))
        record = json.loads((tmp_path / ".made.json").read_text(encoding="utf-8"))
        (tmp_path / ".made.json").write_text(json.dumps(record).replace('"key": "', '"key": "0'), encoding="utf-8")
        with pytest.raises(RuntimeError):
            builder.build(prepared(), str(tmp_path), executor=gone)
    assert not list(tmp_path.glob("*/pass-card.pdf"))


def test_a_dish_that_cannot_be_drawn_takes_no_other_with_it(monkeypatch, tmp_path):
    def render(one, *more):
        if one.key == "barley-yolk":
            raise RuntimeError("no ink")
        return drawn_as_ever(one, *more)

    drawn_as_ever = rendered.render
    monkeypatch.setattr(workers, "render", render)
    with lock.hold(str(tmp_path)), ThreadPoolExecutor(2) as executor:
        reports = builder.build(prepared(), str(tmp_path), executor=executor)
    states = {r.key: r.state for r in reports}
    assert states.pop("barley-yolk") == "withheld" and set(states.values()) == {"written"}
    assert ["not-drawn"] == [p.slug for r in reports if r.key == "barley-yolk" for p in r.problems if p.is_error]
