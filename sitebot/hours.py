"""Clock times, spans, weekdays and zones as a site file writes them; each checked, with what to write instead."""

from __future__ import annotations

import re
from functools import cache
from typing import Annotated
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ValueError("no such time zone; write one like America/Denver") from error
    return name


def _clock(text: str) -> str:
    if not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text):
        raise ValueError('not a time; write it as "07:00"')
    return text


def _days(text: str) -> str:
    days_of(text)
    return text


@cache
def days_of(text: str) -> frozenset[int]:
    """Weekdays (Monday 0) of "mon-fri" or "mon,wed,sat"; ValueError where a day is no day."""
    days: set[int] = set()
    for part in filter(None, re.split(r"[,\s]+", text.lower())):
        first, _, last = part.partition("-")
        try:
            a = WEEKDAYS.index(first[:3])
            b = WEEKDAYS.index((last or first)[:3])
        except ValueError as error:
            raise ValueError('not days of the week; write them as "mon-fri" or "mon,tue,sat"') from error
        days |= {(a + i) % 7 for i in range((b - a) % 7 + 1)}
    return frozenset(days)


def _span(text: str) -> str:
    for clock in (parts := text.split("-")):
        _clock(clock)
    if len(parts) != 2:
        raise ValueError('not a span of time; write it as "12:00-12:30"')
    return text


Clock = Annotated[str, AfterValidator(_clock)]
#: "12:00-12:30", over midnight where it ends before it begins.
Span = Annotated[str, AfterValidator(_span)]
Days = Annotated[str, AfterValidator(_days)]
Zone = Annotated[str, AfterValidator(_zone)]
