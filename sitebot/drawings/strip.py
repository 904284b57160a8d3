"""The waterstop as it is drawn: legs from above, pieces from the front, legs in space; ribs and bulb always shown.

Shapes in widths of the web, y up, the joint at (0, 0). Which joint and what words stand beside it is pictures.py's.
"""

from __future__ import annotations

import math

from sitebot.drawings.scene import BLADE, FAINT, INK, Line, Point, Polygon, Shape, turned
from sitebot.trade.space import Vector, cross, dot, unit

WEB, BULB, SIDE, END = "#cfe3ee", "#8fb3c6", "#a9c6d6", "#7d9fb1"
#: Ribs and bulb across the web, in widths from its middle.
RIBS = (-0.36, -0.22, 0.22, 0.36)
BULB_HALF = 0.08
#: Thickness is drawn about three times too thick, so that a tilt can be seen.
THICK, BULB_THICK = 0.22, 0.4


def end_at(across: float, cut_left_deg: float, cut_right_deg: float) -> float:
    """How far from the joint's middle the end of a leg lies at a distance across (left is above 0)."""
    cut = cut_left_deg if across > 0 else cut_right_deg
    return abs(across) * math.tan(math.radians(cut))


def leg_from_above(bearing_deg: float, cut_left_deg: float, cut_right_deg: float, length: float = 2.2) -> list[Shape]:
    """A leg that leaves the joint at a bearing, with its two half cuts, seen from above."""

    def edge(across: float) -> Point:
        return end_at(across, cut_left_deg, cut_right_deg), across

    broken = break_line((length, -0.5), (length, 0.5))
    web = (edge(0.5), (0.0, 0.0), edge(-0.5), *broken)
    bulb = ((length, BULB_HALF), edge(BULB_HALF), (0.0, 0.0), edge(-BULB_HALF), (length, -BULB_HALF))
    shapes: list[Shape] = [Polygon(web, WEB, "")]
    shapes.append(Polygon(bulb, BULB, INK, 1.0))
    shapes += [Line((edge(rib), (length, rib)), FAINT, 1.6) for rib in RIBS]
    shapes.append(Line(((length, 0.5), edge(0.5)), INK, 2.5))
    shapes.append(Line(((length, -0.5), edge(-0.5)), INK, 2.5))
    shapes.append(Line(broken, FAINT, 1.6))
    shapes.append(Line((edge(0.5), (0.0, 0.0), edge(-0.5)), BLADE, 3.5))
    return turned(shapes, bearing_deg)


def break_line(a: Point, b: Point, teeth: int = 6) -> tuple[Point, ...]:
    """A zigzag where a piece is broken off."""
    dx, dy = (b[0] - a[0]) / teeth, (b[1] - a[1]) / teeth
    points = [(a[0] + i * dx + (-1) ** i * 0.25 * dy, a[1] + i * dy - (-1) ** i * 0.25 * dx) for i in range(1, teeth)]
    return (a, *points, b)


def piece_from_front(bevel_deg: float, length: float = 2.0) -> list[Shape]:
    """A piece kept on the left, seen from who saws: edge on, lying on the table, cut by a blade that leans left."""
    lean = math.tan(math.radians(bevel_deg))

    def end(height: float) -> Point:
        return -lean * height, height

    low, high = (BULB_THICK - THICK) / 2, (BULB_THICK + THICK) / 2
    bulb = ((-length, 0.0), end(0.0), end(BULB_THICK), (-length, BULB_THICK))
    web = ((-length, low), end(low), end(high), (-length, high))
    shapes: list[Shape] = [Polygon(bulb, BULB, INK, 1.2), Polygon(web, WEB, INK, 2.0)]
    shapes.append(Line(break_line((-length, 0.0), (-length, BULB_THICK)), FAINT, 1.6))
    return shapes


def leg_from_edge(bearing_deg: float, bevel_deg: float, length: float = 2.2) -> list[Shape]:
    """A leg seen edge on that leaves the joint at a bearing; its upper face (left of its way out) is cut back."""
    lean = math.tan(math.radians(bevel_deg))

    def end(height: float) -> Point:
        return lean * height, height

    shapes: list[Shape] = []
    for half, fill, width in ((BULB_THICK / 2, BULB, 1.2), (THICK / 2, WEB, 2.0)):
        shapes.append(Polygon(((length, -half), end(-half), end(half), (length, half)), fill, INK, width))
    shapes.append(Line(break_line((length, -BULB_THICK / 2), (length, BULB_THICK / 2)), FAINT, 1.6))
    shapes.append(Line((end(-BULB_THICK / 2), end(BULB_THICK / 2)), BLADE, 3.5))
    return turned(shapes, bearing_deg)


def camera(azimuth_deg: float, elevation_deg: float) -> tuple[Vector, Vector, Vector]:
    """Right, up and towards the eye, for who looks from an azimuth and an elevation."""
    a, e = math.radians(azimuth_deg), math.radians(elevation_deg)
    eye = (math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e))
    right = unit(cross((0.0, 0.0, 1.0), eye))
    return right, cross(eye, right), eye


def leg_in_space(
    out: Vector, web: Vector, blade: Vector, view: tuple[Vector, Vector, Vector], length: float = 2.4
) -> list[tuple[float, Shape]]:
    """The faces of a leg that the eye can see, each with its depth, so that nearer ones are drawn later."""
    across = cross(web, out)
    right, up, eye = view

    def spot(side: float, height: float, along: float | None = None) -> Vector:
        s = -(side * dot(blade, across) + height * dot(blade, web)) / dot(blade, out) if along is None else along
        a, b, c = (s * out[i] + side * across[i] + height * web[i] for i in range(3))
        return a, b, c

    def seen(points: list[Vector]) -> tuple[Point, ...]:
        return tuple((dot(p, right), dot(p, up)) for p in points)

    half, thick = 0.5, 0.06
    faces = [
        (web, [(half, thick), (-half, thick)], WEB),
        (_minus(web), [(half, -thick), (-half, -thick)], SIDE),
        (across, [(half, thick), (half, -thick)], SIDE),
        (_minus(across), [(-half, thick), (-half, -thick)], END),
    ]
    found: list[tuple[float, Shape]] = []
    for normal, ((s1, h1), (s2, h2)), fill in faces:
        if dot(normal, eye) <= 1e-9:
            continue
        corners = [spot(s1, h1), spot(s1, h1, length), spot(s2, h2, length), spot(s2, h2)]
        depth = sum(dot(c, eye) for c in corners) / 4
        found.append((depth, Polygon(seen(corners), fill, INK, 1.8)))
        if s1 == -s2:
            band = [
                spot(BULB_HALF, h1),
                spot(BULB_HALF, h1, length),
                spot(-BULB_HALF, h1, length),
                spot(-BULB_HALF, h1),
            ]
            found.append((depth + 5e-7, Polygon(seen(band), BULB, "")))
            for rib in (*RIBS, -BULB_HALF, BULB_HALF):
                run = [spot(rib, h1), spot(rib, h1, length)]
                found.append((depth + 1e-6, Line(seen(run), FAINT if rib in RIBS else INK, 1.4)))
            edge = seen([spot(-half, h1), spot(half, h1)])
            found.append((depth + 2e-6, Line(edge, BLADE, 3.5)))
    return found


def _minus(a: Vector) -> Vector:
    return -a[0], -a[1], -a[2]
