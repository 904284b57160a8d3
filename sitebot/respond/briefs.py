"""The lead's brief in the morning and the superintendent's in the evening: short, out of the log, no word of leave.

Also the line about an iron left on, which tops every reply until somebody says that it is off.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

from sitebot.message import Say, Term
from sitebot.record import IronState, Log, Place, weather_at
from sitebot.respond.desk import Desk
from sitebot.respond.iron_names import irons_said
from sitebot.respond.shifts import Shift, next_shift, shift_of
from sitebot.respond.weather import parts_said
from sitebot.site import Site

#: An iron that nobody reported off is spoken of from so long after the end of its shift [min].
HOT_AFTER_MIN = 20
#: Places named in the morning.
MOST_PLACES = 3
_ON = ("plugged_in", "hot", "reading")


def morning(shift: Shift, site: Site, log: Log, now: datetime) -> tuple[Say, ...]:
    """For the lead before the start: hours, people, irons, weather, what is open, what is to make and to be poured."""
    people = [log.name_of(p) for p in log.crew(shift.day.isoformat()) or ()]
    irons = next((c.irons for c in site.crews if c.name == shift.crew), ()) or site.irons
    values = {"date": shift.day, "start": shift.start, "end": shift.end, "names": people, "irons": list(irons)}
    says = [Say("brief.hours", values), *_weather(shift, log, now)]
    return (*says, *_open(log), *_to_make(log), *_pours(shift.day, log), *_unreached(log), Say("brief.stop"))


def evening(shift: Shift, site: Site, log: Log, now: datetime) -> tuple[Say, ...]:
    """For the superintendent after the end: the day's count, what is open, irons, pours and the next start."""
    day = shift.day.isoformat()
    counted = dict.fromkeys(("accepted", "pending", "rejected"), 0)
    for count in log.counts(first=day, last=day):
        if count.status in counted:
            counted[count.status] += count.n
    made = sum(counted.values())
    says = [Say("brief.made", {"date": shift.day, "made": made, "splices": Term("splice", made), **counted})]
    says += _weather(shift, log, now)
    if on := [i.iron for i in log.irons_on()]:
        says.append(Say("brief.iron_on", {"the_irons": irons_said([i for i in on if i])}))
    following = next_shift(now, site, log)
    says += [*_open(log), *_pours(following.day if following else shift.day + timedelta(days=1), log)]
    if following:
        says.append(Say("brief.next", {"date": following.day, "start": following.start}))
    return (*says, *_unreached(log), Say("brief.stop"))


def _unreached(log: Log) -> list[Say]:
    gone = {*log.unreached(), *log.stopped()}
    names = [p.name for p in log.people() if p.id in gone]
    return [Say("brief.unreached", {"names": names})] if names else []


def _weather(shift: Shift, log: Log, now: datetime) -> list[Say]:
    """What somebody told of it that day."""
    told = weather_at(log.weather(shift.day.isoformat()), now)
    return [Say("brief.weather", {"parts": parts_said(told)})] if told else []


def _to_make(log: Log) -> list[Say]:
    """The places that still lack the most splices by their plan."""
    lacking = []
    for planned in log.plan():
        place = log.place(planned.name)
        if (short := sum(place.missing.values()) - len(place.pending)) > 0:
            lacking.append((short, place.name))
    most = sorted(lacking, key=lambda found: -found[0])[:MOST_PLACES]
    parts = [Say("brief.lacks", {"place": name, "n": short}) for short, name in most]
    return [Say("brief.plan", {"parts": parts})] if parts else []


def _open(log: Log) -> list[Say]:
    rework = [s.number for s in log.open_rework()]
    waiting = [s.number for s in log.splices(status="pending")]
    says = []
    if rework:
        says.append(Say("brief.rework", {"numbers": rework}))
    if waiting:
        says.append(Say("brief.waiting", {"numbers": waiting}))
    return says or [Say("brief.nothing_open")]


def _pours(day: date, log: Log) -> list[Say]:
    """Pours planned for a day and what still stands in their way."""
    says = []
    for pour in log.pours():
        if pour.date == day.isoformat():
            place = log.place(pour.place)
            values = {"place": pour.place, "date": day, "points": points(place)}
            says.append(Say("brief.pour_ready" if place.is_ready else "brief.pour", values))
    return says


def points(place: Place) -> list[Say]:
    """What stands open at a place, in the order to mend it."""
    says = [Say("pours.damaged", {"what": d.what, "number": d.number}) for d in place.damage]
    if place.open_rework:
        says.append(Say("pours.rework", {"numbers": list(place.open_rework)}))
    if place.pending:
        says.append(Say("pours.to_inspect", {"numbers": list(place.pending), "names": None}))
    if (short := sum(place.missing.values()) - len(place.pending)) > 0:
        says.append(Say("brief.to_make", {"n": short, "splices": Term("splice", short)}))
    return says if place.planned else [*says, Say("pours.no_plan")]


def irons_left_on(desk: Desk) -> Sequence[IronState]:
    """Irons reported in and not off, though the shift they were plugged in for is over."""
    return [i for i in desk.log.irons_on() if desk.now.astimezone(UTC) >= _over(i, desk)]


def _over(iron: IronState, desk: Desk) -> datetime:
    """When an iron ought to be off: after the end of its shift, an hour after it was plugged in later than that."""
    today = [e.at for e in desk.log.iron_events(desk.day) if e.event in _ON and e.iron in (iron.iron or None, None)]
    heard = max([iron.since, *today]).astimezone(desk.site.tz)
    shift = shift_of(date.fromisoformat(desk.day_of(heard)), desk.site, desk.log, desk.now, desk.me)
    ends = shift.called_off or shift.end.astimezone(UTC)
    return max(ends + timedelta(minutes=HOT_AFTER_MIN), heard.astimezone(UTC) + timedelta(minutes=60))


def hot_iron_line(desk: Desk) -> Say | None:
    """The line on top of a reply while an iron is on after its shift; None where all is off. Not for strangers."""
    left = irons_left_on(desk) if desk.person else ()
    if not left:
        return None
    since = min(i.since for i in left).astimezone(desk.site.tz)
    names = [i.iron for i in left if i.iron]
    earlier = since.date() if since.date() != desk.now.date() else None
    return Say("reminders.hot_line", {"the_irons": irons_said(names), "since": since, "date": earlier})
