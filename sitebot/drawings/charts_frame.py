"""The frame of a chart: where a value lies on the sheet, ticks, grid, legend, and marks told apart by shape and colour.

Geometry and ink only; what is charted stands in charts.py. Colours are those of Okabe and Ito (Color Universal
Design, 2008), which colour-blind eyes tell apart; no meaning hangs on colour alone, for paper printed black and white.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Literal

from sitebot.drawings.scene import FAINT, INK, Label, Line, Point, Polygon, Shape
from sitebot.wording.render import clock_text, date_text

BLUE, ORANGE, VERMILION, GREEN, SKY, PURPLE = "#0072b2", "#e69f00", "#d55e00", "#009e73", "#56b4e9", "#cc79a7"
GRID, BAND = "#dde4e8", "#e3eef5"
Form = Literal["circle", "square", "diamond", "triangle", "pentagon"]
#: Irons, in turn: form and colour.
SERIES: tuple[tuple[Form, str], ...] = (
    ("circle", BLUE),
    ("square", ORANGE),
    ("triangle", GREEN),
    ("diamond", PURPLE),
    ("pentagon", SKY),
)


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle of the sheet and the values at its edges."""

    left: float
    top: float
    width: float
    height: float
    first: float
    last: float
    low: float
    high: float

    def x(self, value: float) -> float:
        return self.left + self.width * (value - self.first) / max(self.last - self.first, 1e-9)

    def y(self, value: float) -> float:
        return self.top + self.height * (1 - (value - self.low) / max(self.high - self.low, 1e-9))

    def at(self, x: float, y: float) -> Point:
        return self.x(x), self.y(y)

    @property
    def bottom(self) -> float:
        return self.top + self.height

    @property
    def right(self) -> float:
        return self.left + self.width


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values between two, at most so many.

    >>> ticks(0, 23)
    [0.0, 5.0, 10.0, 15.0, 20.0]
    """
    rough = max(high - low, 1e-9) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(s * power for s in (1, 2, 5, 10) if s * power >= rough - 1e-12)
    first = math.ceil(low / step - 1e-9)
    return [round(i * step, 9) for i in range(first, math.floor(high / step + 1e-9) + 1)]


def side(frame: Frame, values: Sequence[float], text: Callable[[float], str], unit: str = "") -> list[Shape]:
    """Grid lines with their values on the left; what they count stands above."""
    shapes: list[Shape] = []
    for value in values:
        y = frame.y(value)
        shapes.append(Line(((frame.left, y), (frame.right, y)), GRID, 1.2))
        shapes.append(Label((frame.left - 8, y), text(value), 16, "end", FAINT))
    if unit:
        shapes.append(Label((16, frame.top - 20), unit, 16, "start", FAINT))
    return shapes


def foot(frame: Frame, marks: Sequence[tuple[float, str]]) -> list[Shape]:
    """The base line with its values below."""
    shapes: list[Shape] = [Line(((frame.left, frame.bottom), (frame.right, frame.bottom)), INK, 2)]
    for value, text in marks:
        x = frame.x(value)
        shapes.append(Line(((x, frame.bottom), (x, frame.bottom + 6)), INK, 1.5))
        shapes.append(Label((x, frame.bottom + 20), text, 16, "middle", FAINT))
    return shapes


def day_marks(first: float, last: float, language: str, most: int = 6) -> list[tuple[float, str]]:
    """Dates below an axis of days: Mondays where weeks are shown, else every few days; hours within one day."""
    if last - first <= 1.0:
        step = 2 if (last - first) * 24 <= 14 else 4
        hours = range(math.ceil(first * 24 / step) * step, math.floor(last * 24) + 1, step)
        return [(h / 24, clock_text(time(h % 24))) for h in hours]
    days = range(math.ceil(first), math.floor(last) + 1)
    if len(days) > most:
        step = 7 * math.ceil(len(days) / 7 / most)
        days = range(next(d for d in days if date.fromordinal(d).weekday() == 0), days[-1] + 1, step)
    return [(float(d), date_text(date.fromordinal(d), language).split(" ", 1)[1]) for d in days]


def mark(form: Form, at: Point, size: float, fill: str, line: str = INK) -> Polygon:
    """A mark of a form; all look equally large. An empty fill leaves it hollow."""
    sides, turn, grow = {
        "circle": (24, 0.0, 1.0),
        "square": (4, 45.0, 1.2),
        "diamond": (4, 0.0, 1.3),
        "triangle": (3, 90.0, 1.35),
        "pentagon": (5, 90.0, 1.1),
    }[form]
    angles = [math.radians(turn + 360 * i / sides) for i in range(sides)]
    points = tuple((at[0] + size * grow * math.cos(a), at[1] - size * grow * math.sin(a)) for a in angles)
    return Polygon(points, fill or "#ffffff", line, 1.8)


def bar(left: float, right: float, top: float, bottom: float, fill: str, is_striped: bool = False) -> list[Shape]:
    """A bar; stripes tell it apart where there is no colour."""
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    shapes: list[Shape] = [Polygon(corners, fill, INK, 1.2)]
    if is_striped:
        count = int((bottom - top) / 4)
        shapes += [Line(((left, top + 4 * i), (right, top + 4 * i)), INK, 1.1) for i in range(1, count + 1)]
    return shapes


def band(frame: Frame, low: float, high: float, fill: str = BAND) -> Polygon:
    """The range between two values, over the whole width."""
    top, bottom = frame.y(min(high, frame.high)), frame.y(max(low, frame.low))
    return Polygon(((frame.left, top), (frame.right, top), (frame.right, bottom), (frame.left, bottom)), fill, "")


def heading(title: str, *results: str) -> list[Shape]:
    """What is shown, and below it what it says."""
    lines = [Label((16, 58 + 24 * i), text, fitting(text, 18), "start", FAINT) for i, text in enumerate(results)]
    return [Label((16, 28), title, fitting(title, 25), "start"), *lines]


def fitting(text: str, size: float, width: float = 568) -> float:
    """The size at which a text fits, a letter taken as half as wide as high."""
    return min(size, width / max(1, len(text)) / 0.48)


def step_line(frame: Frame, xs: Sequence[float], ys: Sequence[float], half: float) -> tuple[Point, ...]:
    """A line that holds each value to both sides of its place."""
    points: list[Point] = []
    for x, y in zip(xs, ys, strict=True):
        points += [frame.at(x - half, y), frame.at(x + half, y)]
    return tuple(points)
