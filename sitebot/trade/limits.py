"""The arithmetic behind limits: which of two governs, what a step takes off a section, strength from loads, rounding.

Pure functions; the limits themselves and their sources are rules (rules/acceptance), read by the rulebook.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Literal

Standing = Literal["under", "at", "over"]
"""Where a reading stands against a limit that is the most allowed."""


def governing(absolute: float, share: float, of: float | None) -> float | None:
    """The smaller of an absolute limit and a share of a measure ("1/16 in or 15 % of thickness"): both hold.

    None where the measure is not known and the absolute limit alone cannot settle it. Limits: absolute > 0, 0 < share
    <= 1, of > 0, one unit. Source: UFGS-03150A 3.2.3.3 read as either one rejects.

    >>> governing(1/16, 0.15, 1/2), round(governing(1/16, 0.15, 3/8), 5)
    (0.0625, 0.05625)
    """
    if not absolute > 0 or not 0 < share <= 1 or (of is not None and not of > 0):
        raise ValueError(f"limits and measures must be above 0, share at most 1, not {absolute}, {share}, {of}")
    return None if of is None else min(absolute, share * of)


def even_thickness(absolute: float, share: float) -> float:
    """The thickness at which an absolute limit and a share of it are the same; thinner stock is ruled by the share.

    Limits: absolute > 0, 0 < share <= 1. Source: arithmetic.

    >>> round(even_thickness(1.5875, 0.15), 2)
    10.58
    """
    if not absolute > 0 or not 0 < share <= 1:
        raise ValueError(f"absolute must be above 0 and share in 0..1, not {absolute} and {share}")
    return absolute / share


def standing(value: float, most: float, place: float | None = None) -> Standing:
    """Where a reading stands against the most allowed, compared at the precision of the reading (``place``: 0.1, 1/64).

    Exactly at the limit is "at" and passes. Limits: value and most not below 0, place > 0. Source: design rule
    "limits are inclusive"; ASTM E29 1.3 for the method.

    >>> standing(1.6, 1.5875, 0.1), standing(1.7, 1.5875, 0.1), standing(1.6, 1.5875)
    ('at', 'over', 'over')
    """
    if value < 0 or most < 0:
        raise ValueError(f"measures are not below 0: {value}, {most}")
    limit = most if place is None else rounded(most, place)
    seen = value if place is None else rounded(value, place)
    if math.isclose(seen, limit, rel_tol=1e-9, abs_tol=1e-12):
        return "at"
    return "under" if seen < limit else "over"


def rounded(value: float, place: float) -> float:
    """A value rounded to a place (10, 1, 0.1, 1/16 ...), exact halves to the even step.

    Limits: place > 0. Source: round half to even, the rounding method that ASTM E29 1.3 tells from the absolute one.

    >>> rounded(79.5, 1), rounded(80.5, 1), rounded(1.5875, 0.1)
    (80.0, 80.0, 1.6)
    """
    if not place > 0:
        raise ValueError(f"place must be above 0, not {place}")
    step = Decimal(repr(float(place)))
    steps = (Decimal(repr(float(value))) / step).quantize(Decimal(1), ROUND_HALF_EVEN)
    return float(steps * step)


def at_least(value: float, least: float, method: Literal["absolute", "rounding"], place: float = 1.0) -> bool:
    """Whether a value meets a least limit by the method the papers name; without a method named a limit means little.

    Limits: place > 0. Source: ASTM E29 1.3, absolute or rounding method.

    >>> at_least(79.5, 80, "absolute"), at_least(79.5, 80, "rounding"), at_least(79.4, 80, "rounding")
    (False, True, False)
    """
    return value >= least if method == "absolute" else rounded(value, place) >= least


def section_loss_share(step: float, across: float, other_step: float = 0.0, other_across: float = 1.0) -> float:
    """The share of a section that two ends out of line no longer have in common, 0 to 1.

    ``step`` is the offset across the measure ``across`` (thickness or width); a second offset the other way may be
    given. Limits: steps not below 0, measures above 0; the web is taken as a rectangle. Source: overlap of two
    rectangles.

    >>> round(section_loss_share(1/16, 3/8), 4)
    0.1667
    """
    if min(step, other_step) < 0 or min(across, other_across) <= 0:
        raise ValueError("steps must not be below 0, measures above 0")
    kept = max(0.0, 1 - step / across) * max(0.0, 1 - other_step / other_across)
    return 1 - kept


def strength_share(splice_load: float, parent_load: float, splice_area: float = 1.0, parent_area: float = 1.0) -> float:
    """A splice's tensile strength as a share of the parent's, from the loads at break and the areas pulled.

    Areas are width x thickness; where the strips are alike they may be left out. Limits: all above 0, loads in one
    unit, areas in one unit. Source: stress = load / area.

    >>> strength_share(180, 200), round(strength_share(180, 200, 0.9, 1.0), 3)
    (0.9, 1.0)
    """
    if min(splice_load, parent_load, splice_area, parent_area) <= 0:
        raise ValueError("loads and areas must be above 0")
    return (splice_load / splice_area) / (parent_load / parent_area)


def run_out_limit(length: float, most: float = 0.5, over: float = 120.0) -> float:
    """How far a run may stray over a length when ``most`` is allowed over ``over``, in the unit of both.

    Limits: all above 0. Source: UFGS-03150A 3.2.3.3, 1/2 in in 10 ft (13 mm in 3 m), taken in proportion.

    >>> run_out_limit(60)
    0.25
    """
    if min(length, most, over) <= 0:
        raise ValueError("lengths must be above 0")
    return most * length / over


def material_samples(length: float, every: float = 200.0, each: float = 1.0, least_total: float = 4.0) -> int:
    """Material samples due from a lot: one from every ``every`` begun, and ``least_total`` in all, one unit (ft).

    Limits: length > 0, the rest above 0. Source: CRD-C 572-74 4.1: 12 in from each 200 ft, at least 4 ft a lot.

    >>> material_samples(1000), material_samples(200)
    (5, 4)
    """
    if min(length, every, each, least_total) <= 0:
        raise ValueError("lengths must be above 0")
    return max(math.ceil(length / every - 1e-9), math.ceil(least_total / each - 1e-9))
