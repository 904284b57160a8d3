"""The state of a site as the log shows it: splices, samples, irons, the day; and the questions one may ask of it.

Values and one abstract ``Log``. The journal answers it from its tables; ``sitebot read`` answers it without any.
"""

from __future__ import annotations

from datetime import date, datetime

from sitebot.record.log import Log
from sitebot.record.sample import sample_of
from sitebot.record.values import (
    Count,
    Damage,
    DayChange,
    Filed,
    IronEvent,
    IronState,
    KeptPhoto,
    Line,
    Place,
    PlannedPlace,
    Pour,
    Relayed,
    Reminder,
    Sample,
    Splice,
    Weather,
)
from sitebot.record.weather import WEATHER_PARTS, weather_at

__all__ = [
    "WEATHER_PARTS",
    "Count",
    "Damage",
    "DayChange",
    "Filed",
    "IronEvent",
    "IronState",
    "KeptPhoto",
    "Line",
    "Log",
    "Place",
    "PlannedPlace",
    "Pour",
    "Relayed",
    "Reminder",
    "Sample",
    "Splice",
    "Weather",
    "sample_of",
    "shift_day",
    "weather_at",
]


def shift_day(moment: datetime, start: str, end: str) -> date:
    """The day a moment of local time belongs to: the day its shift starts, also after midnight.

    A shift that ends past midnight (end < start) keeps the hours before its end, and three more, for the day before.
    """
    if end < start and moment.strftime("%H:%M") < _later(end, 3):
        return date.fromordinal(moment.date().toordinal() - 1)
    return moment.date()


def _later(clock: str, hours: int) -> str:
    return f"{min(int(clock[:2]) + hours, 23):02d}{clock[2:]}"
