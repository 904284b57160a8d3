"""Entries about the day: samples, irons, weather, hours, crew, reminders."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sitebot.entries.base import FREE, Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleReported(Entry):
    day: str
    made_at: str
    verdict: str
    iron: str | None = None
    defect: str | None = None
    temp_f: float | None = None
    temp_by: str | None = None
    welders: tuple[str, ...] = ()
    profile: str | None = None
    #: Who is said to have watched, and whether one who gives verdicts says so himself: only that qualifies a profile.
    witness: tuple[str, ...] = ()
    witnessed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherTold(Entry):
    """Weather and shelter as somebody told them; what he did not speak of stays None.

    rain: none, light, heavy, snow, fog. wind: calm, light, strong.
    shelter: tent, tarp, building, umbrella, other, none.
    """

    day: str
    made_at: str
    air_f: float | None = None
    humidity: float | None = None
    rain: str | None = None
    wind: str | None = None
    wind_mph: float | None = None
    shelter: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IronReported(Entry):
    """event: plugged_in, hot, reading, unplugged, cover_changed, fault, power_cut, power_back.

    iron None: not named (all that it can mean).
    """

    day: str
    made_at: str
    event: str
    iron: str | None = None
    temp_f: float | None = None
    temp_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlanned(Entry):
    """A change for that date only; start and end "HH:MM" local; snooze_until and remind_at ISO UTC."""

    date: str
    start: str | None = None
    end: str | None = None
    no_work: bool | None = None
    snooze_min: int | None = None
    snooze_until: str | None = None
    remind_at: str | None = None
    what: str | None = field(default=None, metadata=FREE)
    #: A reminder that comes back: "day" (each day he works) or "mon" to "sun", and "HH:MM". Its date is "".
    every: str | None = None
    clock: str | None = None
    #: Reminders off for that date; of one that comes back: no more of it.
    quiet: bool = False
    #: Person ids it holds for; empty: everybody.
    who: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWished(Entry):
    """A crew member's word about everybody's day: the lead confirms it or not."""

    date: str
    change: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSet(Entry):
    day: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledged(Entry):
    """Somebody answered a reminder."""

    what: str
    day: str
    made_at: str
    iron: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminded(Entry):
    """A reminder went out. ``step`` counts repeats of the same one, from 0."""

    what: str
    day: str
    step: int
    to: tuple[str, ...]
    iron: str | None = None
