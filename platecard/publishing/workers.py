"""Dishes drawn ahead of their turn in the workers of an executor, a handful at a time.

Any :class:`concurrent.futures.Executor` will do: processes of this machine, or the engine
of a group of restaurants.  What a dish's documents are made of travels to a worker, and
their bytes travel back; the files are still written by one process, in the order of the
menu, so that they are the same bytes and the same transaction whatever drew them.
The first dishes are drawn while the others are still looked at.  What all dishes share, the
kitchen and what its equipment passes on, is pickled once and unpickled once by each worker.
"""

from __future__ import annotations

import pickle
from collections import deque
from collections.abc import Sequence
from functools import lru_cache
from io import BytesIO
from threading import get_ident
from typing import TYPE_CHECKING, NamedTuple

from platecard import fingerprint
from platecard.drawing.fonts import NotDrawable
from platecard.prepared import Prepared
from platecard.publishing.rendered import MenuPieces, Pages, laid, menu_pieces, render

if TYPE_CHECKING:  # whoever wants workers brings an executor; without one nothing of this is imported
    from concurrent.futures import Executor, Future

# What a handful shares is pickled with it once, so one dish alone would be mostly travel.
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


class _Packer(pickle.Pickler):
    """Pickles jobs without what all of them share, of which only the place in ``shared`` is written."""

    def __init__(self, out: BytesIO, shared: Sequence[object]):
        super().__init__(out)
        self._places = {id(one): place for place, one in enumerate(shared)}

    def persistent_id(self, obj: object) -> int | None:
        return self._places.get(id(obj))


class _Unpacker(pickle.Unpickler):
    """Reads what a :class:`_Packer` wrote."""

    def __init__(self, handful: bytes, shared: Sequence[object]):
        super().__init__(BytesIO(handful))
        self._shared = shared

    def persistent_load(self, place: int) -> object:
        return self._shared[place]


def _packed(jobs: tuple[Job, ...], shared: Sequence[object]) -> bytes:
    out = BytesIO()
    _Packer(out, shared).dump(jobs)
    return out.getvalue()


@lru_cache(maxsize=8)
def _unpacked(shared: bytes, thread: int) -> Sequence[object]:
    """What a menu's dishes share, read once in each thread, because a kitchen remembers what it has worked out."""
    read: Sequence[object] = pickle.loads(shared)
    return read


def draw_all(handful: bytes, shared: bytes) -> list[Drawn]:
    """What a worker does: draw a handful of dishes, packed as a tuple of jobs without what they ``shared``."""
    jobs: tuple[Job, ...] = _Unpacker(handful, _unpacked(shared, get_ident())).load()
    drawn = [draw(job) for job in jobs]
    for job in jobs:  # the next handful brings its own
        fingerprint.forget_all(job.prepared)
    return drawn


class Drawing:
    """Dishes drawn in the order in which they are asked for: ahead by workers, or here when their turn comes."""

    def __init__(self, executor: Executor | None = None):
        self.executor = executor
        self._waiting: deque[Job] = deque()
        self._under_way: deque[Future[list[Drawn]]] = deque()
        self._done: deque[Drawn] = deque()
        self._is_held = False
        self._shared: Sequence[object] = ()
        self._packed = b""  # the same, pickled

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
            if not self._packed:
                self._shared = handful[0].prepared.world, handful[0].prepared.shared
                self._packed = pickle.dumps(self._shared)
            # Pickled here and now: a pool does it in a thread of its own, while what the kitchen remembers still grows.
            self._under_way.append(self.executor.submit(draw_all, _packed(handful, self._shared), self._packed))
            for _ in handful:
                self._waiting.popleft()
