"""Charts of the irons: readings against the band of the site, and how many welds each cover has seen.

Values in, a sheet out; the frame and its marks are charts_frame.py's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sitebot.drawings.charts import say, word
from sitebot.drawings.charts_frame import (
    BLUE,
    SERIES,
    VERMILION,
    Form,
    Frame,
    band,
    day_marks,
    foot,
    heading,
    mark,
    side,
    ticks,
)
from sitebot.drawings.scene import INK, Label, Line, Point, Shape, Sheet
from sitebot.message import Language


@dataclass(frozen=True, slots=True)
class Reading:
    """The heat of an iron at a time [days; fraction is the local time of day]."""

    day: float
    iron: str
    temp_f: float


@dataclass(frozen=True, slots=True)
class CoverStep:
    """Welds with one cover, counted at a time; 0 where a new one came on."""

    day: float
    welds: int


def heats(readings: Sequence[Reading], low_f: float, high_f: float, language: Language) -> Sheet:
    """Every reading, those outside the band filled in a warning colour and counted."""
    outside = sum(not low_f <= r.temp_f <= high_f for r in readings)
    result = say("heats_all", language, n=len(readings), outside=outside, low=round(low_f), high=round(high_f))
    shapes = heading(word("heats", language), result)
    first, last = min(r.day for r in readings), max(r.day for r in readings)
    edge = max(0.02, (last - first) * 0.03)
    temps = [low_f, high_f, *(r.temp_f for r in readings)]
    frame = Frame(62, 140, 510, 290, first - edge, last + edge, min(temps) - 8, max(temps) + 8)
    shapes.append(band(frame, low_f, high_f))
    shapes += side(frame, ticks(frame.low, frame.high), lambda v: f"{v:g}", "°F")
    shapes += [
        Line(((frame.left, frame.y(v)), (frame.right, frame.y(v))), INK, 1.6, is_dashed=True) for v in (low_f, high_f)
    ]
    irons = sorted({r.iron for r in readings})
    looks = {iron: SERIES[i % len(SERIES)] for i, iron in enumerate(irons)}
    for r in readings:
        form, colour = looks[r.iron]
        fill = colour if low_f <= r.temp_f <= high_f else VERMILION
        shapes.append(mark(form, frame.at(r.day, r.temp_f), 6, fill, INK))
    shapes += foot(frame, day_marks(frame.first, frame.last, language))
    height = 484 + 26 * -(-len(irons) // 4)
    return Sheet((*shapes, *_irons_legend(looks, language)), height, f"{word('heats', language)}: {result}")


def _irons_legend(looks: Mapping[str, tuple[Form, str]], language: Language) -> list[Shape]:
    shapes: list[Shape] = []
    for i, (iron, (form, colour)) in enumerate(looks.items()):
        x, y = 72 + 130 * (i % 4), 484 + 26 * (i // 4)
        shapes.append(mark(form, (x, y), 6, colour))
        shapes.append(Label((x + 14, y), say("iron", language, iron=iron[:10]), 16, "start"))
    return shapes


def covers(irons: Mapping[str, Sequence[CoverStep]], limit: int, language: Language) -> Sheet:
    """One panel an iron: welds since the cover was changed, against the number after which it is looked at."""
    results = [say("cover_now", language, iron=iron, n=steps[-1].welds) for iron, steps in irons.items() if steps]
    shapes = heading(word("covers", language), "; ".join(results), say("cover_limit", language, n=limit))
    days = [s.day for steps in irons.values() for s in steps]
    top = 138.0
    for iron, steps in irons.items():
        high = max(limit, *(s.welds for s in steps)) * 1.15
        frame = Frame(62, top, 510, 130, min(days) - 0.5, max(days) + 0.5, 0, high)
        shapes += side(frame, ticks(0, high, 4), lambda v: f"{v:g}", say("iron", language, iron=iron))
        y = frame.y(limit)
        shapes.append(Line(((frame.left, y), (frame.right, y)), VERMILION, 2, is_dashed=True))
        shapes += _saw(frame, steps)
        shapes += foot(frame, day_marks(frame.first, frame.last, language))
        top += 200
    return Sheet(tuple(shapes), top - 10, f"{word('covers', language)}: {'; '.join(results)}")


def _saw(frame: Frame, steps: Sequence[CoverStep]) -> list[Shape]:
    """Rising with each weld, back to nothing with a new cover, which is marked."""
    points: list[Point] = [frame.at(s.day, s.welds) for s in steps]
    shapes: list[Shape] = [Line(tuple(points), BLUE, 2.8)] if len(points) > 1 else []
    shapes += [mark("triangle", frame.at(s.day, 0), 6, "#ffffff") for s in steps if s.welds == 0]
    return [*shapes, mark("circle", points[-1], 5.5, BLUE)]
