"""The calendar: when which crew works on a date, after every change that was made to it. Pure; no reminders here.

The later change stands over the earlier. Times are local and aware; whoever counts minutes turns them to UTC first,
since arithmetic on local times forgets that clocks are changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache

from sitebot.hours import days_of
from sitebot.record import DayChange, Log
from sitebot.respond.dates import moment_of
from sitebot.site import Crew, Site

#: A site that names no crews is one crew.
EVERYBODY = Crew(name="all")
#: A change that says only that work stands still, or goes on.
PAUSED, RESUMED = "paused", "resumed"


@dataclass(frozen=True, slots=True)
class Shift:
    """The shift of one crew on one date as it stands after all changes; times are local and aware."""

    day: date
    start: datetime
    end: datetime
    works: bool
    #: When somebody called the day off, if somebody did.
    called_off: datetime | None = None
    #: "": the site has no crews of their own.
    crew: str = ""
    #: When work was stopped for the weather and not said to go on.
    stopped: datetime | None = None


def crews_of(site: Site) -> Sequence[Crew]:
    """The crews of a site; one that stands for everybody where it names none."""
    return site.crews or (EVERYBODY,)


def crew_of(person: str, site: Site) -> Crew:
    """The crew somebody is on: the one that names him, else everybody."""
    return next((c for c in site.crews if person in c.people), EVERYBODY)


def hours_of(crew: Crew, site: Site) -> tuple[str, str]:
    """Start and end "HH:MM" by the pattern."""
    return crew.start or site.shift.start, crew.end or site.shift.end


def shift_of(day: date, site: Site, log: Log, now: datetime, person: str = "") -> Shift:
    """The shift of a date: of the person's crew, of the first crew where he is on none."""
    crew = crew_of(person, site)
    crew = crews_of(site)[0] if crew is EVERYBODY else crew
    return shift_from(day, site, crew, log.day_changes(day.isoformat()), now)


def shift_from(day: date, site: Site, crew: Crew, changes: Iterable[DayChange], now: datetime) -> Shift:
    """Pattern of the site file and the changes of that date, the later over the earlier; ``now`` gives the zone."""
    start, end = hours_of(crew, site)
    works, off, stopped = is_workday(day, site, crew), None, None
    for change in changes:
        if not _holds_for(change, crew):
            continue
        if change.start:
            start, works, off, stopped = change.start, True, None, None
        end = change.end or end
        if change.what in (PAUSED, RESUMED):
            stopped = change.at if change.what == PAUSED else None
        if change.no_work is not None:
            works, off = not change.no_work, change.at if change.no_work else None
    begins, ends = moment_of(start, day, now), moment_of(end, day, now)
    if ends <= begins:
        ends = moment_of(end, day + timedelta(days=1), now)
    return Shift(day, begins, ends, works, off, "" if crew is EVERYBODY else crew.name, stopped)


def _holds_for(change: DayChange, crew: Crew) -> bool:
    """A change without names is everybody's; one that names the whole crew is the crew's; else it is a person's own."""
    return not change.quiet and (not change.who or (bool(crew.people) and set(crew.people) <= set(change.who)))


def is_workday(day: date, site: Site, crew: Crew = EVERYBODY) -> bool:
    """By the pattern, before anybody changed it."""
    return (
        day.weekday() in days_of(crew.days or site.shift.days)
        and day not in site.days_off
        and not (site.holidays and day in holidays_of(site.holidays, day.year))
    )


@cache
def holidays_of(code: str, year: int) -> frozenset[date]:
    """Public holidays of a country or one of its parts ("US-CO"), observed days included."""
    # Imported late: most sites want no holidays, and the package is an extra.
    from holidays import country_holidays

    return frozenset(country_holidays(code[:2], subdiv=code[3:] or None, years=year))


def next_shift(after: datetime, site: Site, log: Log, person: str = "", most_days: int = 30) -> Shift | None:
    """The first shift that begins after a moment, within so many days."""
    for offset in range(most_days + 1):
        shift = shift_of(after.date() + timedelta(days=offset), site, log, after, person)
        if shift.works and shift.start > after:
            return shift
    return None


def is_off(person: str, changes: Iterable[DayChange]) -> bool:
    """Did this person alone get the day off?"""
    off = False
    for change in changes:
        if person in change.who and not change.quiet and (change.no_work is not None or change.start):
            off = bool(change.no_work)
    return off
