"""When the plan is met at the pace so far. Pure: counts in, work days out; the calendar is asked elsewhere."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

#: Normal quantile of 90 %: one day in ten is earlier, one in ten later.
Z_90 = 1.2815515655446004
#: Fewer days say nothing about the spread of a pace.
FEWEST_DAYS = 5
#: A finish further away than this many work days is no forecast.
MOST_DAYS = 400


@dataclass(frozen=True, slots=True)
class WorkDays:
    """Work days still to come until the plan is met; ``late`` None: beyond any forecast."""

    early: int
    likely: int
    late: int | None


def finish(made: Sequence[int], remaining: int) -> WorkDays | None:
    """Work days until ``remaining`` more are made, from what was ``made`` on each work day so far; None: too few days.

    The sum of n days to come lies about n times the mean, with the variance s2 (n + n2/m) of m days seen: the spread
    of the days themselves and that of the mean. 80 % lie between early and late (Student's t of m - 1, by the
    expansion of Abramowitz and Stegun 1964, 26.7.5). Limits: remaining >= 0; days must be alike, so no trend is seen.

    >>> finish([8, 8, 8, 8, 8], 80)
    WorkDays(early=10, likely=10, late=10)
    """
    if len(made) < FEWEST_DAYS or sum(made) <= 0 or remaining < 0:
        return None
    likely = _days(made, remaining, 0.0)
    early = _days(made, remaining, student(len(made) - 1))
    if likely is None or early is None:
        return None
    return WorkDays(early, likely, _days(made, remaining, -student(len(made) - 1)))


def _days(made: Sequence[int], remaining: int, t: float) -> int | None:
    """The first day on which the sum at so many spreads from its middle reaches the rest."""
    mean, spread, m = statistics.fmean(made), statistics.stdev(made), len(made)
    for n in range(MOST_DAYS + 1):
        if n * mean + t * spread * math.sqrt(n + n * n / m) >= remaining:
            return n
    return None


def student(freedom: int, z: float = Z_90) -> float:
    """Student's t for a normal quantile (Abramowitz and Stegun 1964, 26.7.5); within 0.01 from 4 degrees on.

    >>> round(student(10), 3)
    1.372
    """
    g1 = (z**3 + z) / 4
    g2 = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    return z + g1 / freedom + g2 / freedom**2
