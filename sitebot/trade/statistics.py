"""Figures about many welds: how sure a share is, and whether a day's share is out of the ordinary.

Pure formulas over counts; who is counted and over which days is decided elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: Two-sided 95 % of the normal distribution.
Z_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class PChart:
    """Centre line and the limits of each sample; a point outside them asks for a cause."""

    centre: float
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    #: Positions from 0 of the samples outside their limits.
    outside: tuple[int, ...]


def wilson(hits: int, of: int, z: float = Z_95) -> tuple[float, float]:
    """The score interval of a share, 0 to 1: holds its 95 % also for few trials and shares near 0 or 1.

    Limits: of >= 1, 0 <= hits <= of, z > 0. Source: Wilson score interval, Newcombe, Statistics in Medicine 17 (1998).

    >>> tuple(round(x, 4) for x in wilson(81, 263))
    (0.2553, 0.3662)
    """
    _checked(hits, of, z)
    p, z2 = hits / of, z * z
    middle = p + z2 / (2 * of)
    spread = z * math.sqrt(p * (1 - p) / of + z2 / (4 * of * of))
    scale = 1 + z2 / of
    return max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale)


def wilson_corrected(hits: int, of: int, z: float = Z_95) -> tuple[float, float]:
    """The score interval with correction for continuity: a little wider, never narrower than its 95 %.

    Limits: as ``wilson``. Source: Newcombe 1998, method 4; Fagerland, Lydersen and Laake, Statistical Analysis of
    Contingency Tables, ch. 2.

    >>> tuple(round(x, 4) for x in wilson_corrected(13, 16))
    (0.5369, 0.9503)
    """
    _checked(hits, of, z)
    p, z2 = hits / of, z * z
    scale = 2 * (of + z2)
    low = (2 * of * p + z2 - 1 - z * math.sqrt(z2 - 2 - 1 / of + 4 * p * (of * (1 - p) + 1))) / scale if hits else 0.0
    up = 1.0
    if hits < of:
        up = (2 * of * p + z2 + 1 + z * math.sqrt(z2 + 2 - 1 / of + 4 * p * (of * (1 - p) - 1))) / scale
    return max(0.0, low), min(1.0, up)


def p_chart(bad: Sequence[int], sizes: Sequence[int], sigmas: float = 3.0) -> PChart:
    """The chart of shares of bad welds by sample; samples may differ in size.

    Limits: as many counts as sizes, at least one; 0 <= bad <= size, size >= 1; limits are cut to 0..1. Source:
    Montgomery, Introduction to Statistical Quality Control, 2nd ed. 1991, p +/- 3 sqrt(p (1 - p) / n).

    >>> chart = p_chart([8, 7, 9, 8, 10, 6, 5, 7, 9, 12, 9, 6, 8, 7, 9, 8, 11, 10, 9, 7], [50] * 20)
    >>> round(chart.centre, 3), round(chart.lower[0], 4)
    (0.165, 0.0075)
    """
    if not bad or len(bad) != len(sizes) or any(not 0 <= b <= n or n < 1 for b, n in zip(bad, sizes, strict=True)):
        raise ValueError("counts and sizes must be as many, at least one, and no count above its size")
    centre = sum(bad) / sum(sizes)
    spreads = [sigmas * math.sqrt(centre * (1 - centre) / n) for n in sizes]
    lower = tuple(max(0.0, centre - s) for s in spreads)
    upper = tuple(min(1.0, centre + s) for s in spreads)
    shares = [b / n for b, n in zip(bad, sizes, strict=True)]
    outside = tuple(i for i, p in enumerate(shares) if not lower[i] <= p <= upper[i])
    return PChart(centre, lower, upper, outside)


def _checked(hits: int, of: int, z: float) -> None:
    if of < 1 or not 0 <= hits <= of or not z > 0:
        raise ValueError(f"no such share: {hits} of {of}, z {z}")
