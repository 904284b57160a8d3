"""From an angle to a mark on the piece: offsets, the cost of one degree, saws that stop short, the fit tool.

Pure formulas; the cut itself is worked out in cuts.py and space.py.
"""

from __future__ import annotations

import math

#: Every compound saw swings and leans this far; many no further (common practice).
USUAL_STOP_DEG = 45.0


def mark_offset(width: float, miter_deg: float) -> float:
    """How far along the far edge lies the end of a mitred cut, in the unit of ``width``: width x tan(miter).

    Limits: width > 0, 0 <= miter_deg < 85 (beyond, no mark can be drawn well). Source: plane trigonometry.

    >>> round(mark_offset(9, 45), 6)
    9.0
    """
    if not width > 0 or not 0 <= miter_deg < 85:
        raise ValueError(f"width must be above 0 and miter_deg in 0..85, not {width} and {miter_deg}")
    return width * math.tan(math.radians(miter_deg))
