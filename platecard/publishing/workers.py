"""Dishes drawn ahead of their turn in the workers of an executor, a handful at a time.

Any :class:`concurrent.futures.Executor` will do: processes of this machine, or the engine
of a group of restaurants.  What a dish's documents are made of travels to a worker, and
their bytes travel back; the files are still written by one process, in the order of the
menu, so that they are the same bytes and the same transaction whatever drew them.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future
from itertools import islice
from typing import NamedTuple

from platecard.prepared import Prepared
from platecard.publishing.rendered import Pages, laid, render

# A kitchen's knowledge travels with each handful, so one dish alone would be mostly travel.
HANDFUL = 24
# Handfuls on their way at once: enough that no worker waits, and few enough that little is held in memory.
AHEAD = 8


class Job(NamedTuple):
    """A dish to be drawn."""

    prepared: Prepared
    is_draft: bool
    with_recipes: bool


class Drawn(NamedTuple):
    """The documents of a dish, and the pages of its card for the book; or what went wrong."""

    files: dict[str, bytes]
    card: Pages = ()
    fault: Exception | None = None


def draw(job: Job) -> Drawn:
    """Draw one dish.  Raises nothing: one dish's trouble is its own."""
    pages: list[Pages] = []
    try:
        files = render(laid(job.prepared), job.is_draft, job.with_recipes, pages.append)
    except Exception as exc:  # whatever it is, it is this dish's
        return Drawn({}, (), exc)
    return Drawn(files, pages[0])


def draw_all(jobs: Sequence[Job]) -> list[Drawn]:
    """What a worker does: draw a handful of dishes."""
    return [draw(job) for job in jobs]


def drawn(jobs: Sequence[Job], executor: Executor | None = None) -> Iterator[Drawn]:
    """Each job drawn, in order; by the workers of ``executor``, or here when its turn comes."""
    if executor is None:
        yield from map(draw, jobs)
        return
    # Small menus are shared out too.
    size = min(HANDFUL, max(1, len(jobs) // AHEAD))
    waiting = iter(jobs)
    handfuls = iter(lambda: tuple(islice(waiting, size)), ())
    under_way: deque[Future[list[Drawn]]] = deque(executor.submit(draw_all, one) for one in islice(handfuls, AHEAD))
    while under_way:
        done = under_way.popleft().result()
        under_way.extend(executor.submit(draw_all, one) for one in islice(handfuls, 1))
        yield from done
