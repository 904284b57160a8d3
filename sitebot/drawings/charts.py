"""Charts of a site: pace and finish, first-pass rate, rejects under control limits.

Values in, a sheet out. What is counted and over which days is decided elsewhere; words stand in
rules/words/<language>. How a frame looks is charts_frame.py's, irons are charted in charts_irons.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sitebot.drawings.charts_frame import (
    BLUE,
    GRID,
    ORANGE,
    VERMILION,
    Frame,
    bar,
    day_marks,
    foot,
    heading,
    mark,
    side,
    step_line,
    ticks,
)
from sitebot.drawings.scene import FAINT, INK, PAPER, Label, Line, Point, Polygon, Shape, Sheet
from sitebot.message import Language, Say, Term
from sitebot.trade.statistics import p_chart, wilson
from sitebot.wording import render
from sitebot.wording.render import date_text, value_text

#: Control limits from fewer samples are for trial (Montgomery 1991: 20 to 25 of them).
FEWEST_FOR_LIMITS = 20


@dataclass(frozen=True, slots=True)
class DayMade:
    """Splices made on a day: those not rejected, and those rejected."""

    day: date
    good: int
    rejected: int


@dataclass(frozen=True, slots=True)
class Finish:
    """When the plan is likely met. ``late`` None: the pace is too uneven to say."""

    early: date
    likely: date
    late: date | None


@dataclass(frozen=True, slots=True)
class Judged:
    """Verdicts of one week or day."""

    day: date
    bad: int
    of: int


def word(key: str, language: Language) -> str:
    return value_text(Term(f"chart.{key}"), language)


def say(key: str, language: Language, **values: object) -> str:
    return render(Say(f"chart.{key}", values), language)


def percent(value: float) -> str:
    return f"{100 * value:.0f}%"


def pace(days: Sequence[DayMade], planned: int, finish: Finish | None, language: Language) -> Sheet:
    """Splices in all against the plan with the likely finish, and below it each day's."""
    good = sum(d.good for d in days)
    result = say("pace_so_far", language, good=good, planned=planned or None)
    shapes = heading(word("pace", language), result, _finish_text(good, planned, finish, language))
    last = max(d.day for d in days).toordinal()
    if finish:
        last = (finish.late or finish.likely).toordinal()
    first = min(d.day for d in days).toordinal() - 1
    span = (float(first), float(last) + 0.6)
    shapes += _total(days, planned, finish, span, language)
    shapes += _per_day(days, span, language)
    return Sheet(tuple(shapes), 680, f"{word('pace', language)}: {result}")


def _finish_text(good: int, planned: int, finish: Finish | None, language: Language) -> str:
    if planned and good >= planned:
        return say("pace_done", language)
    if finish is None:
        return say("pace_too_few", language)
    return say("pace_finish", language, likely=finish.likely, early=finish.early, late=finish.late)


def _total(
    days: Sequence[DayMade], planned: int, finish: Finish | None, span: tuple[float, float], language: Language
) -> list[Shape]:
    """The sum over the days, the plan as a line, the fan of the forecast."""
    good = sum(d.good for d in days)
    high = max(planned, good) * 1.12
    frame = Frame(62, 128, 510, 290, *span, 0, high)
    shapes = side(frame, ticks(0, high), lambda v: f"{v:g}", word("in_all", language))
    points: list[Point] = [frame.at(frame.first, 0)]
    total = 0
    for d in days:
        points.append(frame.at(d.day.toordinal(), total))
        total += d.good
        points.append(frame.at(d.day.toordinal(), total))
    if planned:
        y = frame.y(planned)
        shapes.append(Line(((frame.left, y), (frame.right, y)), INK, 2, is_dashed=True))
        shapes.append(Label((frame.left + 6, y), say("planned", language, n=planned), 16, "start", shift=(0, 14)))
    if finish and planned > good:
        shapes += _fan(frame, points[-1], planned, finish, language)
    shapes.append(Line(tuple(points), BLUE, 3.5))
    return [*shapes, mark("circle", points[-1], 6, BLUE), *foot(frame, day_marks(*span, language))]


def _fan(frame: Frame, here: Point, planned: int, finish: Finish, language: Language) -> list[Shape]:
    """From today's sum to the plan: the likely day as a dashed line, early to late as a wedge."""
    late = finish.late or finish.likely
    tips = [frame.at(d.toordinal(), planned) for d in (finish.early, late, finish.likely)]
    shapes: list[Shape] = [Polygon((here, tips[0], tips[1]), "#fbe8c4", ORANGE, 1)]
    shapes.append(Line((here, tips[2]), ORANGE, 3, is_dashed=True))
    shapes.append(mark("diamond", tips[2], 7, ORANGE))
    text = date_text(finish.likely, language)
    shapes.append(Label(tips[2], text, 16, "end" if tips[2][0] > 480 else "middle", shift=(0, -18)))
    return shapes


def _per_day(days: Sequence[DayMade], span: tuple[float, float], language: Language) -> list[Shape]:
    most = max(d.good + d.rejected for d in days)
    frame = Frame(62, 496, 510, 110, *span, 0, max(most, 1))
    shapes = side(frame, ticks(0, most, 4), lambda v: f"{v:g}", word("per_day", language))
    half = min(16.0, 0.38 * 510 / (span[1] - span[0]))
    for d in days:
        x, y = frame.x(d.day.toordinal()), frame.y(d.good)
        shapes += bar(x - half, x + half, y, frame.bottom, BLUE) if d.good else []
        if d.rejected:
            shapes += bar(x - half, x + half, frame.y(d.good + d.rejected), y, "#f6c7a9", is_striped=True)
    shapes += foot(frame, day_marks(*span, language))
    shapes += bar(62, 80, 648, 664, BLUE)
    shapes.append(Label((88, 656), word("not_rejected", language), 16, "start"))
    shapes += bar(320, 338, 648, 664, "#f6c7a9", is_striped=True)
    return [*shapes, Label((346, 656), word("rejected", language), 16, "start")]


def first_pass(weeks: Sequence[Judged], language: Language) -> Sheet:
    """The share that passed at the first inspection, week by week, with how sure it is (95 %, Wilson)."""
    passed, of = sum(w.of - w.bad for w in weeks), sum(w.of for w in weeks)
    low, high = wilson(passed, of)
    result = say("first_pass_all", language, share=percent(passed / of), low=percent(low), high=percent(high), n=of)
    shapes = heading(word("first_pass", language), result, word("first_pass_how", language))
    least = min(wilson(w.of - w.bad, w.of)[0] for w in weeks)
    frame = Frame(72, 128, 500, 270, -0.5, len(weeks) - 0.5, max(0.0, math.floor(least * 10 - 0.5) / 10), 1)
    shapes += side(frame, ticks(frame.low, 1), percent)
    y = frame.y(passed / of)
    shapes.append(Line(((frame.left, y), (frame.right, y)), FAINT, 1.8, is_dashed=True))
    for i, week in enumerate(weeks):
        shapes += _whisker(frame, i, week, with_figure=len(weeks) <= 8)
    every = -(-len(weeks) // 7)
    shapes += foot(frame, [(i, _short(w.day, language)) for i, w in enumerate(weeks) if i % every == 0])
    shapes += [
        Label((frame.x(i), frame.bottom + 42), f"{w.of}", 16, "middle") for i, w in enumerate(weeks) if i % every == 0
    ]
    shapes.append(Label((16, frame.bottom + 70), word("week_of", language), 16, "start", FAINT))
    return Sheet(tuple(shapes), 490, f"{word('first_pass', language)}: {result}")


def _whisker(frame: Frame, x: float, week: Judged, *, with_figure: bool) -> list[Shape]:
    share = (week.of - week.bad) / week.of
    low, high = wilson(week.of - week.bad, week.of)
    px = frame.x(x)
    ends = [frame.y(low), frame.y(high)]
    caps: list[Shape] = [Line(((px - 8, y), (px + 8, y)), INK, 2) for y in ends]
    y = frame.y(share)
    shapes: list[Shape] = [Line(((px, ends[0]), (px, ends[1])), INK, 2), *caps, mark("circle", (px, y), 7, BLUE)]
    if not with_figure:
        return shapes
    # White behind the figure, so that the line of the mean does not run through it.
    behind = Polygon(((px + 10, y + 3), (px + 48, y + 3), (px + 48, y + 22), (px + 10, y + 22)), PAPER, "")
    text = Label((px, y), percent(share), 16, "start", shift=(12, 12))
    return [*shapes, behind, text]


def _short(day: date, language: Language) -> str:
    """Without its weekday."""
    return date_text(day, language).split(" ", 1)[1]


def rejects(days: Sequence[Judged], language: Language) -> Sheet:
    """The share rejected by day under limits of three sigma; a day outside them asks for a cause."""
    chart = p_chart([d.bad for d in days], [d.of for d in days])
    outside = [days[i].day for i in chart.outside]
    result = say("rejects_all", language, share=percent(chart.centre), n=sum(d.of for d in days))
    trial = Say("chart.trial") if len(days) < FEWEST_FOR_LIMITS else None
    second = say("rejects_outside", language, days=[_short(d, language) for d in outside[:5]], trial=trial)
    shapes = heading(
        word("rejects", language), result, second if outside else say("rejects_within", language, trial=trial)
    )
    high = min(1.0, max([*chart.upper, *(d.bad / d.of for d in days)]) * 1.08 + 0.01)
    frame = Frame(72, 128, 500, 290, -0.6, len(days) - 0.4, 0, high)
    shapes += side(frame, ticks(0, high), percent)
    xs = [float(i) for i in range(len(days))]
    for limit in (chart.upper, chart.lower):
        shapes.append(Line(step_line(frame, xs, limit, 0.5), VERMILION, 2))
    y = frame.y(chart.centre)
    shapes.append(Line(((frame.left, y), (frame.right, y)), INK, 1.8, is_dashed=True))
    shapes += _shares(frame, days, chart.outside, language)
    every = -(-len(days) // 6)
    shapes += foot(frame, [(i, _short(d.day, language)) for i, d in enumerate(days) if i % every == 0])
    return Sheet((*shapes, *_limits_legend(frame.bottom + 56, language)), 500, f"{word('rejects', language)}: {result}")


def _shares(frame: Frame, days: Sequence[Judged], outside: Sequence[int], language: Language) -> list[Shape]:
    points = [frame.at(i, d.bad / d.of) for i, d in enumerate(days)]
    shapes: list[Shape] = [Line(tuple(points), GRID, 2.5)] if len(points) > 1 else []
    for i, (d, point) in enumerate(zip(days, points, strict=True)):
        shapes.append(mark("diamond", point, 9, VERMILION) if i in outside else mark("circle", point, 5.5, BLUE))
        if i in outside:
            text = say("of", language, bad=d.bad, of=d.of)
            near_edge = point[0] > 480
            shift = (-14.0 if near_edge else 14.0, 0.0)
            shapes.append(Label(point, text, 16, "end" if near_edge else "start", shift=shift))
    return shapes


def _limits_legend(y: float, language: Language) -> list[Shape]:
    return [
        Line(((72, y), (102, y)), VERMILION, 2),
        Label((110, y), word("limits", language), 16, "start"),
        Line(((330, y), (360, y)), INK, 1.8, is_dashed=True),
        Label((368, y), word("mean", language), 16, "start"),
    ]
