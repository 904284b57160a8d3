"""Saw settings for joints in one plane: turns, tees, crosses, wyes.

Pure geometry of directions; joints in space are in space.py, marks and saws in marks.py. No width, no wording and no
rule of a site may live here. Every angle is measured from a square, upright cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

#: Legs that drawings round to whole degrees need not sum to 360 exactly.
SUM_SLACK_DEG = 1.0


@dataclass(frozen=True, slots=True)
class Setting:
    """One saw setting: how far the table is swung and how far the blade is tilted [deg]."""

    miter_deg: float
    bevel_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg of a flat joint: the gaps to its two neighbours and the cut on either half of its end.

    A cut above 0 takes the edge back from the middle (a point); below 0 it leaves the edge beyond the middle.
    """

    gap_before_deg: float
    gap_after_deg: float
    cut_before_deg: float
    cut_after_deg: float

    @property
    def is_single_cut(self) -> bool:
        """Both halves lie on one straight cut, as at a plain turn or a square end."""
        return abs(self.cut_before_deg + self.cut_after_deg) < 1e-9


def turn_of_inside(inside_deg: float) -> float:
    """The turn off straight [deg] of an angle measured between the legs [deg], inside or (above 180) outside.

    Limits: 0 < inside_deg < 360. Source: plane geometry; a half turn is 180 deg.

    >>> turn_of_inside(135), turn_of_inside(270)
    (45, 90)
    """
    if not 0 < inside_deg < 360:
        raise ValueError(f"inside_deg must lie between 0 and 360, not {inside_deg}")
    return abs(180 - inside_deg)


def inside_of_turn(turn_deg: float) -> float:
    """The angle between the legs [deg] of a turn off straight [deg].

    Limits: 0 <= turn_deg < 180. Source: plane geometry.

    >>> inside_of_turn(22.5)
    157.5
    """
    _checked_turn(turn_deg)
    return 180 - turn_deg


def flat_turn(turn_deg: float) -> Setting:
    """The setting for both ends of a turn [deg] in the plane of the web: the cut halves the angle between the legs.

    Limits: 0 <= turn_deg < 180. Source: plane geometry; the limit S = 90 of the crown formulas (J. Bartok), miter =
    90 - W/2 with W = 180 - turn.

    >>> flat_turn(60)
    Setting(miter_deg=30.0, bevel_deg=0.0)
    """
    return Setting(_checked_turn(turn_deg) / 2, 0.0)


def edge_turn(turn_deg: float) -> Setting:
    """The setting for both ends of a turn [deg] the easy way, out of the plane of the web: the blade is tilted.

    Limits: 0 <= turn_deg < 180. Source: the limit S = 0 of the crown formulas (J. Bartok), bevel = 90 - W/2.

    >>> edge_turn(45)
    Setting(miter_deg=0.0, bevel_deg=22.5)
    """
    return Setting(0.0, _checked_turn(turn_deg) / 2)


def half_gap_cut(gap_deg: float) -> float:
    """The cut from square [deg] on the side of a leg that faces a gap [deg] to its neighbour: 90 less half the gap.

    Limits: 0 < gap_deg < 360. Above 180 the cut is negative: that half reaches beyond the middle.
    Source: plane geometry; the joint lies on the line that halves the gap.

    >>> half_gap_cut(90), half_gap_cut(120), half_gap_cut(180)
    (45.0, 30.0, 0.0)
    """
    if not 0 < gap_deg < 360:
        raise ValueError(f"gap_deg must lie between 0 and 360, not {gap_deg}")
    return 90 - gap_deg / 2


def flat_joint(gaps_deg: Sequence[float]) -> tuple[Leg, ...]:
    """The legs of a flat joint, from the angles [deg] between neighbouring legs, once round.

    Leg i lies between gap i - 1 and gap i. Limits: two gaps or more, each above 0, 360 in all (1 deg of slack is spread
    over them). Source: plane geometry, as ``half_gap_cut``.

    >>> [(leg.cut_before_deg, leg.cut_after_deg) for leg in flat_joint([90, 90, 180])]
    [(0.0, 45.0), (45.0, 45.0), (45.0, 0.0)]
    """
    total = sum(gaps_deg)
    if len(gaps_deg) < 2 or min(gaps_deg) <= 0 or abs(total - 360) > SUM_SLACK_DEG:
        raise ValueError(f"gaps must be two or more, above 0 and 360 deg in all, not {list(gaps_deg)}")
    gaps = [gap * 360 / total for gap in gaps_deg]
    return tuple(
        Leg(before, after, half_gap_cut(before), half_gap_cut(after))
        for before, after in zip([gaps[-1], *gaps[:-1]], gaps, strict=True)
    )


def gaps_of_bearings(bearings_deg: Sequence[float]) -> tuple[float, ...]:
    """The gaps [deg] between legs that leave the joint at these bearings [deg], in the order of the bearings.

    Limits: two bearings or more, no two alike. Source: plane geometry.

    >>> gaps_of_bearings([0, 90, 180])
    (90, 90, 180)
    """
    around = sorted(bearing % 360 for bearing in bearings_deg)
    if len(around) < 2 or len(set(around)) < len(around):
        raise ValueError(f"bearings must be two or more and all different, not {list(bearings_deg)}")
    return tuple((b - a) % 360 or 360 for a, b in zip(around, [*around[1:], around[0]], strict=True))


def complete_gaps(joint: str, gaps_deg: Sequence[float]) -> tuple[float, ...]:
    """All gaps [deg] of a tee, cross or wye of which people name only some; ValueError where they do not fit.

    A plain tee or cross is square; a tee's run goes straight through; one gap of a tee or cross gives the other.
    Source: plane geometry (a straight line is 180, once round 360).

    >>> complete_gaps("tee", [60]), complete_gaps("cross", [75]), complete_gaps("wye", [90, 135])
    ((60, 120, 180), (75, 105, 75, 105), (90, 135, 135))
    """
    gaps = tuple(gaps_deg)
    if joint == "tee":
        first = gaps or (90,)
        gaps = (first[0], 180 - first[0], 180) if len(first) == 1 else gaps
        gaps = (*gaps, 180) if len(gaps) == 2 and sum(gaps) == 180 else gaps
    elif joint == "cross":
        first = gaps or (90,)
        gaps = (first[0], 180 - first[0]) * 2 if len(first) == 1 else gaps
        gaps = gaps * 2 if len(gaps) == 2 and sum(gaps) == 180 else gaps
    else:
        gaps = gaps or (120, 120, 120)
        gaps = (*gaps, 360 - sum(gaps)) if len(gaps) == 2 else gaps
    flat_joint(gaps)
    return gaps


def cuts_of_gaps(gaps_deg: Sequence[float]) -> tuple[float, ...]:
    """The different cuts from square [deg] that a flat joint needs, in the order of its gaps, signs left off.

    Limits and source: as ``flat_joint``.

    >>> cuts_of_gaps([60, 120, 180])
    (60.0, 30.0, 0.0)
    """
    return tuple(dict.fromkeys(round(abs(leg.cut_after_deg), 6) for leg in flat_joint(gaps_deg)))


def _checked_turn(turn_deg: float) -> float:
    if not 0 <= turn_deg < 180:
        raise ValueError(f"turn_deg must lie from 0 to below 180, not {turn_deg}")
    return turn_deg
