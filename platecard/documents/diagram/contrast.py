"""How well two colours can be told apart: in grey, in colour, and with the three kinds of colour deficiency.

The measure is CIE 1976 ΔE*ab between the two colours as they are seen; in grey it is
the difference of CIE L*.  Deficiencies are simulated at full severity (1.0) on linear
sRGB, with the matrices of G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, "A
Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE
Transactions on Visualization and Computer Graphics 15 (6), 2009 (second-hand: the
figures agree in several independent public copies).  sRGB and D65 follow
IEC 61966-2-1, Lab follows CIE 15 (both from memory).
"""

from __future__ import annotations

from functools import cache

Colour = tuple[float, float, float]  # red, green and blue, or L*, a* and b*
SEEN_BY: dict[str, tuple[Colour, Colour, Colour]] = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
VIEWS = ("grey", "full", *SEEN_BY)


@cache
def linear(hex_: str) -> Colour:
    """Linear red, green and blue, from 0 to 1."""
    red, green, blue = (_linear(int(hex_[i : i + 2], 16) / 255) for i in (1, 3, 5))
    return red, green, blue


def _linear(c: float) -> float:
    return c / 12.92 if c <= 0.04045 else float(((c + 0.055) / 1.055) ** 2.4)


@cache
def seen(hex_: str, view: str) -> Colour:
    """L*, a* and b* of a colour as it is seen; ``view`` is one of ``VIEWS``."""
    r, g, b = rgb = linear(hex_)
    if view in SEEN_BY:
        r, g, b = (min(1.0, max(0.0, sum(k * c for k, c in zip(row, rgb)))) for row in SEEN_BY[view])
    x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.95047
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.08883
    fx, fy, fz = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116 for t in (x, y, z))
    light = 116 * fy - 16
    return (light, 0.0, 0.0) if view == "grey" else (light, 500 * (fx - fy), 200 * (fy - fz))


@cache
def difference(one: str, two: str, view: str) -> float:
    """How far apart two colours look in one view."""
    square: float = sum((p - q) ** 2 for p, q in zip(seen(one, view), seen(two, view)))
    return float(square**0.5)


@cache
def contrast(one: str, two: str) -> float:
    """The smallest difference of two colours in any view: what the reader who sees least of it has to go by."""
    return min(difference(one, two, view) for view in VIEWS)
