"""How long before the start the irons are plugged in: the site's usual time, moved by what this iron took of late.

The curve and the learning are in trade/heat.py; here readings become mornings.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sitebot.record import IronEvent
from sitebot.reminders.lines import Seen
from sitebot.trade.heat import Prior, learned

#: Mornings looked at, and how many it takes to move the time.
DAYS_BACK, LEAST_MORNINGS = 10, 3
#: Reports outside are no warm-up of one morning [min].
SHORTEST_MIN, LONGEST_MIN = 10, 180
#: The face is ready from here on [F]; common practice, as rules/practice/weld_heat.yaml has it.
READY_F = 360.0
#: Mornings off by more than this factor from the middle one were reported late, or were another's.
ODD = 1.6
#: A change smaller than this is not worth a word [min].
WORTH_MIN = 5


@dataclass(frozen=True, slots=True)
class LeadTime:
    """How long before the start to plug in, and the mornings that moved it."""

    minutes: int
    iron: str = ""
    mornings: tuple[int, ...] = ()


def lead_time(seen: Seen, day: date, irons: Sequence[str]) -> LeadTime:
    """The longest that any of these irons needs; within the site's bounds."""
    usual = seen.site.shift.preheat_min
    longest = max((_of_iron(seen, day, iron) for iron in irons or ("",)), key=lambda t: t.minutes)
    return longest if abs(longest.minutes - usual) >= WORTH_MIN else LeadTime(usual)


def middle_min(seen: Seen, day: date, iron: str) -> float:
    """How long an iron takes on a middling morning [min]."""
    return _learned(seen, mornings(seen, day, iron)).median_s / 60


def _of_iron(seen: Seen, day: date, iron: str) -> LeadTime:
    usual, (least, most) = seen.site.shift.preheat_min, seen.site.shift.preheat_bounds
    took = mornings(seen, day, iron)
    if len(took) < LEAST_MORNINGS:
        return LeadTime(usual)
    now = _learned(seen, took)
    # One chance in ten that it takes longer; the usual time is meant the same way.
    late_min = now.median_s * math.exp(1.2816 * now.log_spread) / 60
    minutes = min(max(5 * math.ceil(late_min / 5 - 0.01), least), most)
    return LeadTime(minutes, iron, tuple(round(m) for m in took[-3:]))


def _learned(seen: Seen, took_min: Sequence[float]) -> Prior:
    usual = Prior(median_s=0.75 * 60 * seen.site.shift.preheat_min)
    return learned([60 * m for m in took_min], usual)


def mornings(seen: Seen, day: date, iron: str) -> list[float]:
    """Minutes from plug-in to ready of an iron on each of the days before, the odd ones left out."""
    found = []
    for back in range(DAYS_BACK, 0, -1):
        events = seen.events((day - timedelta(days=back)).isoformat())
        if (took := _took_min(e for e in events if e.iron in (iron or None, None, "all"))) is not None:
            found.append(took)
    if not found:
        return []
    middle = statistics.median(found)
    return [m for m in found if middle / ODD <= m <= middle * ODD]


def _took_min(events: Iterable[IronEvent]) -> float | None:
    """Of one morning: the first plug-in to the first word that it is hot."""
    plugged = None
    for event in sorted(events, key=lambda e: e.at):
        if event.event == "plugged_in" and plugged is None:
            plugged = event.at
        elif plugged and (event.event == "hot" or (event.temp_f or 0) >= READY_F):
            took = (event.at - plugged).total_seconds() / 60
            return took if SHORTEST_MIN <= took <= LONGEST_MIN else None
        elif plugged and event.event in ("unplugged", "fault"):
            return None
    return None
