"""From an angle to a mark on the piece: offsets, the cost of one degree, saws that stop short, the tool that is fit.

Pure formulas; the cut itself is worked out in cuts.py and space.py. Lengths come back in the unit they were given in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: Every compound saw swings and leans this far; many no further (common practice).
USUAL_STOP_DEG = 45.0
#: Steps in which wedge blocks are made (common practice).
BLOCK_STEP_DEG = 15.0
#: The bead that stands all around a weld, and so about what melt can close [m] (common practice: 1/8 in, 3 mm).
BEAD_M = 0.003175


@dataclass(frozen=True, slots=True)
class Block:
    """A wedge clamped to the fence turns the piece by ``block_deg``; the saw is swung the rest."""

    block_deg: float
    swing_deg: float


def mark_offset(width: float, miter_deg: float) -> float:
    """How far along the far edge lies the end of a mitred cut: width x tan(miter).

    Limits: width > 0, 0 <= miter_deg < 85 (beyond, no mark can be drawn well). Source: plane trigonometry.

    >>> round(mark_offset(9, 45), 6), round(mark_offset(6, 22.5), 3)
    (9.0, 2.485)
    """
    _checked(width, miter_deg)
    return width * math.tan(math.radians(miter_deg))


def rise_per_foot(miter_deg: float) -> float:
    """The same slope as a framing square gives it: inches of rise in 12 of run.

    Limits: 0 <= miter_deg < 85. Source: plane trigonometry.

    >>> round(rise_per_foot(22.5), 3)
    4.971
    """
    return mark_offset(12.0, miter_deg)


def miter_of_rise(rise: float, run: float) -> float:
    """The miter [deg] of a slope laid off as rise in run; the inverse of ``rise_per_foot``.

    Limits: rise >= 0, run > 0. Source: plane trigonometry.

    >>> round(miter_of_rise(12, 12), 6)
    45.0
    """
    if rise < 0 or run <= 0:
        raise ValueError(f"rise must not be below 0 nor run 0, not {rise} and {run}")
    return math.degrees(math.atan2(rise, run))


def face_length(width: float, miter_deg: float) -> float:
    """How long the cut itself is across the web: width / cos(miter).

    Limits: as ``mark_offset``. Source: plane trigonometry.

    >>> round(face_length(6, 60), 6)
    12.0
    """
    _checked(width, miter_deg)
    return width / math.cos(math.radians(miter_deg))


def error_gap(width: float, miter_deg: float, error_deg: float = 1.0) -> float:
    """How far the faces stand open at the far edge when they touch at the near one and one end is off by ``error_deg``.

    Limits: as ``mark_offset``, -10 <= error_deg <= 10. Source: plane trigonometry, face length x tan(error).

    >>> round(error_gap(9, 45), 3)
    0.222
    """
    if not -10 <= error_deg <= 10:
        raise ValueError(f"error_deg must lie in -10..10, not {error_deg}")
    return face_length(width, miter_deg) * math.tan(math.radians(abs(error_deg)))


def bead_fills(gap_m: float, bead_m: float = BEAD_M) -> bool:
    """Whether melt can close a gap [m]: no wider than the bead that stands out [m].

    Limits: neither below 0. Source: common practice, a bead of at least 1/8 in all around.

    >>> bead_fills(0.222 * 0.0254), bead_fills(0.105 * 0.0254)
    (False, True)
    """
    if gap_m < 0 or bead_m < 0:
        raise ValueError(f"gap_m and bead_m must not be below 0, not {gap_m} and {bead_m}")
    return gap_m <= bead_m


def fence_block(miter_deg: float, stop_deg: float = USUAL_STOP_DEG) -> Block | None:
    """The wedge that lets a saw which stops at ``stop_deg`` cut ``miter_deg``; None where none is needed.

    The piece must be clamped to the wedge and the wedge to the fence: hands cannot hold it. Limits: 0 <= miter_deg <
    85, 0 < stop_deg < 90. Source: angles add; blocks in steps of 15 deg are common practice.

    >>> fence_block(60, 50)
    Block(block_deg=15.0, swing_deg=45.0)
    """
    if not 0 <= miter_deg < 85 or not 0 < stop_deg < 90:
        raise ValueError(f"miter_deg must lie in 0..85 and stop_deg in 0..90, not {miter_deg} and {stop_deg}")
    if miter_deg <= stop_deg:
        return None
    block = math.ceil((miter_deg - stop_deg) / BLOCK_STEP_DEG - 1e-9) * BLOCK_STEP_DEG
    return Block(block, miter_deg - block)


def fit_tools(miter_deg: float, bevel_deg: float = 0.0) -> tuple[str, ...]:
    """Tools for a cut, best first; a knife for square cuts only and never for miters.

    Limits: both 0 or more. Source: common practice; UFGS-03151A p. 10 a asks for a miter guide and a portable power
    saw.

    >>> fit_tools(0), fit_tools(45)
    (('miter_saw', 'circular_saw', 'knife'), ('miter_saw', 'circular_saw'))
    """
    if miter_deg < 0 or bevel_deg < 0:
        raise ValueError(f"angles are counted from 0 up, not {miter_deg} and {bevel_deg}")
    is_square = miter_deg == 0 and bevel_deg == 0
    return ("miter_saw", "circular_saw", "knife") if is_square else ("miter_saw", "circular_saw")


def _checked(width: float, miter_deg: float) -> None:
    if not width > 0 or not 0 <= miter_deg < 85:
        raise ValueError(f"width must be above 0 and miter_deg in 0..85, not {width} and {miter_deg}")
