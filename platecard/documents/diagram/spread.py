"""Things in a row, each as near as it can be to where it is wanted."""

from __future__ import annotations

from collections.abc import Sequence


def ascending(wanted: Sequence[float]) -> list[float]:
    """The places nearest to those wanted, by least squares, of which none is before the one in front of it."""
    pools: list[tuple[float, int]] = []
    for one in wanted:
        mean, n = one, 1
        while pools and pools[-1][0] > mean:
            other, m = pools.pop()
            mean, n = (mean * n + other * m) / (n + m), n + m
        pools.append((mean, n))
    return [mean for mean, n in pools for _ in range(n)]
