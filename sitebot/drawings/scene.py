"""Shapes of a drawing: polygons, lines and labels on a sheet, before they become SVG or PNG.

Values and the arithmetic of placing them; no trade and no file format may live here. On a sheet x runs right and y
down, in units of a sheet 600 wide; before ``fitted`` shapes may be in any unit with y up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

Point = tuple[float, float]
"""A place on the sheet or in a plane (x, y)."""
Rect = tuple[float, float, float, float]
"""Left, top, width, height."""
#: Width of every sheet; a phone shows it at 600 px.
SHEET_WIDTH = 600.0
INK, FAINT, BLADE, PAPER = "#1d2b33", "#6d7d86", "#c4161c", "#ffffff"


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed and filled outline; an empty colour leaves fill or line out."""

    points: tuple[Point, ...]
    fill: str = ""
    line: str = INK
    width: float = 2.0


@dataclass(frozen=True, slots=True)
class Line:
    """An open run of points."""

    points: tuple[Point, ...]
    colour: str = INK
    width: float = 2.0
    is_dashed: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """A text whose anchor point is its left end, middle or right end, half way up its small letters."""

    at: Point
    text: str
    size: float = 24.0
    anchor: Literal["start", "middle", "end"] = "middle"
    colour: str = INK
    #: Set this far [sheet units] from its point, whatever the scale.
    shift: Point = (0.0, 0.0)


Shape = Polygon | Line | Label
"""Anything on a sheet."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A finished drawing and what it shows, in words."""

    shapes: tuple[Shape, ...]
    height: float
    title: str


def moved(shapes: Iterable[Shape], by: Callable[[Point], Point]) -> list[Shape]:
    """The shapes with every point sent through ``by``; letters and line widths keep their size."""
    out: list[Shape] = []
    for shape in shapes:
        if isinstance(shape, Label):
            out.append(replace(shape, at=by(shape.at)))
        else:
            out.append(replace(shape, points=tuple(by(p) for p in shape.points)))
    return out


def turned(shapes: Iterable[Shape], angle_deg: float, about: Point = (0.0, 0.0)) -> list[Shape]:
    """The shapes turned to the left about a point."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

    def by(p: Point) -> Point:
        x, y = p[0] - about[0], p[1] - about[1]
        return about[0] + c * x - s * y, about[1] + s * x + c * y

    return moved(shapes, by)


def mirrored(shapes: Iterable[Shape]) -> list[Shape]:
    """The shapes in a mirror that stands upright at x = 0; letters stay readable."""
    swap: dict[str, Literal["start", "middle", "end"]] = {"start": "end", "end": "start", "middle": "middle"}
    turned_over = moved(shapes, lambda p: (-p[0], p[1]))
    return [
        replace(s, anchor=swap[s.anchor], shift=(-s.shift[0], s.shift[1])) if isinstance(s, Label) else s
        for s in turned_over
    ]


def bounds(shapes: Iterable[Shape]) -> Rect:
    """The least rectangle around all points (labels count as their anchor point)."""
    points = [p for s in shapes for p in ((s.at,) if isinstance(s, Label) else s.points)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)


def fitted(shapes: Sequence[Shape], into: Rect) -> list[Shape]:
    """The shapes (y up) scaled alike both ways into the middle of a rectangle of the sheet (y down)."""
    left, low, width, height = bounds(shapes)
    scale = min(into[2] / max(width, 1e-9), into[3] / max(height, 1e-9))
    x0 = into[0] + (into[2] - scale * width) / 2
    y0 = into[1] + (into[3] + scale * height) / 2
    return moved(shapes, lambda p: (x0 + scale * (p[0] - left), y0 - scale * (p[1] - low)))


def arc(centre: Point, radius: float, first_deg: float, last_deg: float) -> tuple[Point, ...]:
    """Points of an arc from one direction to another, y up."""
    steps = max(2, int(abs(last_deg - first_deg) / 3) + 1)
    angles = [math.radians(first_deg + (last_deg - first_deg) * i / steps) for i in range(steps + 1)]
    return tuple((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles)
