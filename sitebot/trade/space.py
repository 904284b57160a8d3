"""Joints in space: the blade plane that halves two legs, and how to set a saw for it with the piece lying flat.

Pure vector geometry; nothing of wording, tools or drawings may live here. Vectors are (x, y, z); the piece lies on the
saw with its web down, x to the right, y away from who saws, z up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Vector = tuple[float, float, float]
"""A direction or point in space (x, y, z)."""
Side = Literal["left", "right", "none"]
"""To which hand the handle is swung or the top of the blade leans."""

#: Settings and twists below this are rounding, not angles [deg].
NOTHING_DEG = 1e-9


@dataclass(frozen=True, slots=True)
class SawCut:
    """How one piece is cut: on which hand it is kept, where the handle is swung and the top of the blade leaned."""

    keep: Side
    miter_deg: float
    bevel_deg: float
    swing: Side
    tilt: Side


@dataclass(frozen=True, slots=True)
class SpaceJoint:
    """A joint of two legs: the blade plane, both cuts, and how leg 2's web comes out."""

    #: Unit normal of the blade plane, from leg 1's side towards leg 2's.
    blade: Vector
    first: SawCut
    second: SawCut
    #: Normal of leg 2's web as the mirror of leg 1's.
    second_web: Vector
    #: How far that web is rolled from the wanted one, right-handed about leg 2's way out [deg]; 0 where it fits.
    twist_deg: float


def dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def unit(a: Vector) -> Vector:
    """The vector made 1 long; ValueError for one without direction."""
    size = math.sqrt(dot(a, a))
    if size < 1e-12:
        raise ValueError(f"{a} has no direction")
    return a[0] / size, a[1] / size, a[2] / size


def heading(azimuth_deg: float, elevation_deg: float) -> Vector:
    """The unit vector at an azimuth [deg, left of x] and an elevation [deg, up]. Source: spherical coordinates.

    >>> tuple(round(c, 6) for c in heading(90, 0))
    (0.0, 1.0, 0.0)
    """
    a, e = math.radians(azimuth_deg), math.radians(elevation_deg)
    return math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e)


def mirrored(a: Vector, plane: Vector) -> Vector:
    """``a`` in the mirror whose unit normal is ``plane``."""
    d = 2 * dot(a, plane)
    return a[0] - d * plane[0], a[1] - d * plane[1], a[2] - d * plane[2]


def joint(out_1: Vector, web_1: Vector, out_2: Vector, wanted_web_2: Vector | None = None) -> SpaceJoint:
    """The joint of two legs that leave it towards ``out_1`` and ``out_2``; ``web_1`` is the normal of leg 1's web.

    The blade plane halves the legs: leg 2 is leg 1 in its mirror, so sections meet point by point. Limits: the legs do
    not run the same way (folded back), ``web_1`` is square to ``out_1`` within 1e-9. Source: C. Corwin's derivation by
    normals, 1999/2000; J. Bartok's formulas are the special case of two webs at one slope.

    >>> j = joint((-1, 0, 0), (0, 0, 1), heading(90, 45))
    >>> round(j.first.miter_deg, 4), round(j.first.bevel_deg, 4)
    (35.2644, 30.0)
    """
    first, second = unit(out_1), unit(out_2)
    web = unit(web_1)
    if abs(dot(first, web)) > 1e-9:
        raise ValueError("the web's normal must be square to its leg")
    apart = second[0] - first[0], second[1] - first[1], second[2] - first[2]
    if dot(apart, apart) < 1e-9:
        raise ValueError("the legs are folded on one another: no plane halves them")
    blade = unit(apart)
    web_2 = mirrored(web, blade)
    twist = twist_deg(web_2, wanted_web_2, second) if wanted_web_2 is not None else 0.0
    return SpaceJoint(blade, saw_cut(first, web, blade, "left"), saw_cut(second, web_2, blade, "right"), web_2, twist)


def saw_cut(out: Vector, up: Vector, blade: Vector, keep: Literal["left", "right"]) -> SawCut:
    """How to set the saw so that it cuts a piece along ``blade``, face ``up`` up, the joint at the blade.

    ``out`` is the piece's way from the joint; kept on the left it lies towards -x. Miter is the trace of the blade
    plane on the table from square; bevel its lean from upright. Limits: the plane crosses the piece (not along it).
    Source: blade plane and table plane, plain vector geometry.

    >>> saw_cut((-1, 0, 0), (0, 0, 1), unit((1, 0.5773502691896257, 0)), "left").miter_deg.__round__(6)
    30.0
    """
    x = out if keep == "right" else (-out[0], -out[1], -out[2])
    y = cross(up, x)
    along, across, upward = dot(blade, x), dot(blade, y), dot(blade, up)
    if abs(along) < 1e-9:
        raise ValueError("the blade plane runs along the piece")
    across, upward = across * math.copysign(1, along), upward * math.copysign(1, along)
    miter = math.degrees(math.atan2(abs(across), abs(along)))
    bevel = math.degrees(math.asin(min(1.0, abs(upward))))
    return SawCut(keep, miter, bevel, _side(-across, miter), _side(upward, bevel))


def _side(towards_left: float, angle_deg: float) -> Side:
    """A trace that runs away to the right has its handle to the left; a top that leans to -x leans left."""
    if angle_deg < NOTHING_DEG:
        return "none"
    return "left" if towards_left > 0 else "right"


def twist_deg(web: Vector, wanted: Vector, about: Vector) -> float:
    """How far ``web`` is rolled from ``wanted`` about a leg [deg], right-handed, from -180 to 180.

    Limits: both are square to ``about`` within 1e-6. Source: angle between two vectors about an axis.

    >>> round(twist_deg((0, 1, 0), (0, 0, 1), (1, 0, 0)), 6)
    -90.0
    """
    a, b = unit(web), unit(wanted)
    if abs(dot(a, about)) > 1e-6 or abs(dot(b, about)) > 1e-6:
        raise ValueError("both webs must be square to the leg")
    angle = math.degrees(math.atan2(dot(cross(b, a), about), dot(a, b)))
    return 0.0 if abs(angle) < 1e-7 else angle


def compound_turn(flat_turn_deg: float, edge_turn_deg: float) -> SpaceJoint:
    """Both turns in one joint: leg 2 runs at azimuth ``flat_turn_deg`` in leg 1's web, ``edge_turn_deg`` out of it.

    The wanted web of leg 2 is level across its width; the twist tells how far the mitred one is rolled from that:
    tan(twist/2) = tan(F/2) tan(E/2).
    Limits: -180 < flat_turn_deg < 180, -90 < edge_turn_deg < 90. Source: as ``joint``; tan(miter) = cos E sin F / (1 +
    cos E cos F), sin(bevel) = sin E / (2 cos(T/2)) with cos T = cos E cos F follow from it.

    >>> j = compound_turn(30, 20)
    >>> round(j.first.miter_deg, 2), round(j.first.bevel_deg, 2), round(j.twist_deg, 2)
    (14.52, 10.34, -5.41)
    """
    if not -180 < flat_turn_deg < 180 or not -90 < edge_turn_deg < 90:
        raise ValueError(f"turns must lie within 180 flat and 90 on edge, not {flat_turn_deg} and {edge_turn_deg}")
    level_web = heading(flat_turn_deg + 180, 90 - edge_turn_deg)
    return joint((-1, 0, 0), (0, 0, 1), heading(flat_turn_deg, edge_turn_deg), level_web)


def sloped_corner(spring_deg: float, corner_deg: float) -> SpaceJoint:
    """A corner of two webs that lean at the spring angle [deg] from the wall, walls at the corner angle [deg] in plan.

    The same ``joint`` for legs level at the corner. Limits: 0 <= spring_deg <= 90, 0 < corner_deg < 360; above 180 is
    an outside corner with the same figures. Source: J. Bartok, tan(miter) = sin S / tan(W/2), sin(bevel) = cos S
    cos(W/2).

    >>> c = sloped_corner(38, 90)
    >>> round(c.first.miter_deg, 5), round(c.first.bevel_deg, 5)
    (31.61901, 33.86291)
    """
    if not 0 <= spring_deg <= 90 or not 0 < corner_deg < 360:
        raise ValueError(f"spring must lie in 0..90 and corner within 0..360, not {spring_deg} and {corner_deg}")
    half = corner_deg / 2
    out_1, out_2 = heading(-half, 0), heading(half, 0)
    # Leg 1's web leans from its wall towards the corner's inside by the spring angle: its normal is the wall's normal
    # turned up about the leg.
    inward = heading(90 - half, 0)
    s = math.radians(spring_deg)
    web = inward[0] * math.cos(s), inward[1] * math.cos(s), math.sin(s)
    return joint(out_1, web, out_2, mirrored(web, (0.0, 1.0, 0.0)))
