"""What each command reports, as text for people and as data for other programs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from platecard.diagnostics import Span

# Turns a span into ``file`` and ``line`` as they can be opened from where the program runs; None into nulls.
PlaceOf = Callable[[Span | None], Mapping[str, object]]
