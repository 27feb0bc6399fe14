"""Dishes drawn ahead of their turn in the workers of an executor, a handful at a time.

Any :class:`concurrent.futures.Executor` will do: processes of this machine, or the engine
of a group of restaurants.  What a dish's documents are made of travels to a worker, and
their bytes travel back; the files are still written by one process, in the order of the
menu, so that they are the same bytes and the same transaction whatever drew them.
The first dishes are drawn while the others are still looked at.
"""

from __future__ import annotations

import pickle
from collections import deque
from concurrent.futures import Executor, Future
from typing import NamedTuple

from platecard.drawing.fonts import NotDrawable
from platecard.prepared import Prepared
from platecard.publishing.rendered import MenuPieces, Pages, laid, menu_pieces, render

# A kitchen's knowledge travels with each handful, so one dish alone would be mostly travel.
HANDFUL = 8
# Handfuls on their way at once: enough that no worker waits, and few enough that little is held in memory.
AHEAD = 8


class Job(NamedTuple):
    """A dish to be drawn; ``for_menu``: what it adds to the menu's documents is wanted too."""

    prepared: Prepared
    is_draft: bool
    with_recipes: bool
    for_menu: bool = False


class Drawn(NamedTuple):
    """The documents of a dish, the pages of its card for the book, its pieces of the menu; or what went wrong."""

    files: dict[str, bytes]
    card: Pages = ()
    fault: Exception | None = None
    pieces: MenuPieces | None = None
    undrawn: tuple[tuple[str, str], ...] = ()  # documents with letters that no font here has, and what is said of it


def draw(job: Job) -> Drawn:
    """Draw one dish.  Raises nothing: one dish's trouble is its own."""
    pages: list[Pages] = []
    undrawn: list[tuple[str, str]] = []
    try:
        files = render(
            laid(job.prepared),
            job.is_draft,
            job.with_recipes,
            pages.append,
            lambda name, exc: undrawn.append((name, str(exc))),
        )
    except Exception as exc:  # whatever it is, it is this dish's
        return Drawn({}, (), exc)
    if not files:
        return Drawn({}, (), NotDrawable(undrawn[0][1]))
    card = pages[0] if pages else ()
    return Drawn(files, card, None, _pieces(job.prepared) if job.for_menu else None, tuple(undrawn))


def _pieces(prepared: Prepared) -> MenuPieces | None:
    """The pieces of a dish; None where they cannot be worked out, which the menu's own documents then meet again."""
    try:
        return menu_pieces(prepared)
    except Exception:
        return None


def draw_all(handful: bytes) -> list[Drawn]:
    """What a worker does: draw a handful of dishes, pickled as a tuple of jobs."""
    jobs: tuple[Job, ...] = pickle.loads(handful)
    return [draw(job) for job in jobs]


class Drawing:
    """Dishes drawn in the order in which they are asked for: ahead by workers, or here when their turn comes."""

    def __init__(self, executor: Executor | None = None):
        self.executor = executor
        self._waiting: deque[Job] = deque()
        self._under_way: deque[Future[list[Drawn]]] = deque()
        self._done: deque[Drawn] = deque()
        self._is_held = False

    def ask(self, job: Job) -> None:
        """Ask for a dish.  Raises nothing: whatever no longer holds is still to be withdrawn."""
        self._waiting.append(job)
        if len(self._waiting) >= HANDFUL and not self._is_held:
            try:
                self._send()
            except Exception:  # met again, and raised, when the dish's turn comes
                self._is_held = True

    def take(self) -> Drawn:
        """The next dish."""
        if self.executor is None:
            return draw(self._waiting.popleft())
        self._send()
        if not self._done:
            self._done.extend(self._under_way[0].result())
            self._under_way.popleft()
            self._send()
        return self._done.popleft()

    def _send(self) -> None:
        while self.executor is not None and self._waiting and len(self._under_way) < AHEAD:
            handful = tuple(self._waiting)[:HANDFUL]
            # Pickled here and now: a pool does it in a thread of its own, while what the kitchen remembers still grows.
            self._under_way.append(self.executor.submit(draw_all, pickle.dumps(handful)))
            for _ in handful:
                self._waiting.popleft()
