"""Reminders beside the shift's own: covers, pours, rework, packing, the report, briefs, and what people asked for.

Each goes out once; whether there is still a reason is asked only when it is due, so that a look at the clock is cheap.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from sitebot.hours import WEEKDAYS
from sitebot.message import Say
from sitebot.record import DayChange, Pour
from sitebot.reminders.lines import LOOK, Seen, Wanted, own_name, tagged, utc
from sitebot.reminders.shift_lines import OFF_EVENTS, STILL_GOOD_H, Crewed
from sitebot.respond.briefs import evening, morning, points
from sitebot.respond.dates import is_clock, moment_of
from sitebot.respond.irons import COOLING_MIN
from sitebot.respond.report import DAILY_REPORT
from sitebot.respond.shifts import EVERYBODY, crew_of, is_off

#: When the open rework is told, before the end; the day's report, after it [min].
REWORK_BEFORE_MIN, REPORT_AFTER_MIN = 30, 30
#: When the morning's brief is told, before the start; the evening's, after the end [min].
MORNING_BEFORE_MIN, EVENING_AFTER_MIN = 15, 45
#: How long before a pour its open points are told again, and before the end of the working day before it [min].
POUR_BEFORE_MIN, DAY_BEFORE_MIN = 120, 120
#: How often covers are counted [min], and how many days back.
COVER_EVERY_MIN, COVER_DAYS = 30, 10
STILL_GOOD = timedelta(hours=STILL_GOOD_H)


def other_lines(c: Crewed) -> Iterator[Wanted]:
    """Of one crew's shift."""
    if not c.shift.works:
        yield from _pack(c)
        return
    wants, day = c.seen.site.reminding, c.shift.day.isoformat()
    if wants.rework:
        yield _once(c, "rework", utc(c.shift.end, -REWORK_BEFORE_MIN), lambda: bool(c.seen.log.open_rework()))
    if wants.report:
        yield _once(c, "report", utc(c.shift.end, REPORT_AFTER_MIN), lambda: c.seen.has_made(day))
    yield from _pack(c)
    yield from _covers(c)
    yield from _briefs(c)


def _once(c: Crewed, kind: str, first: datetime, reason: Callable[[], bool] | None = None) -> Wanted:
    line = Wanted(tagged(kind, c.shift), c.shift.day, first, first + STILL_GOOD, crew=c.crew)
    return replace(line, reason=reason) if reason else line


def _briefs(c: Crewed) -> Iterator[Wanted]:
    if c.seen.site.briefs:
        yield _once(c, "brief_morning", utc(c.shift.start, -MORNING_BEFORE_MIN))
        yield _once(c, "brief_evening", utc(c.shift.end, EVENING_AFTER_MIN))


def brief_says(line: Wanted, seen: Seen) -> tuple[Say, ...]:
    """The text of a brief, made when it goes out."""
    shift = next(s for crew, s in seen.shifts(line.day) if line.crew is None or crew == line.crew)
    make = morning if line.kind == "brief_morning" else evening
    return make(shift, seen.site, seen.log, seen.local)


def _pack(c: Crewed) -> Iterator[Wanted]:
    """After the last iron went off at the end of the work: when it is cool enough to put away (common practice)."""
    if not c.seen.site.reminding.pack:
        return
    off = [e for e in c.events if e.event == "unplugged"]
    ends = c.shift.called_off or utc(c.shift.end)
    if not off or any(i.on for i in c.seen.irons) or off[-1].at < ends - timedelta(minutes=90):
        return
    since = off[-1].at
    values = {"irons": sorted({e.iron for e in off if e.iron}), "since": since.astimezone(c.seen.site.tz)}
    yield replace(_once(c, "pack", since + timedelta(minutes=COOLING_MIN)), values=values)


def daily_reports(seen: Seen, day: date) -> Iterator[Wanted]:
    """The day's report, to everybody who asked for it every day; once for all crews, after the last of them."""
    asked: dict[str, bool] = {}
    for change in seen.changes(""):
        if change.what == DAILY_REPORT:
            asked |= dict.fromkeys(change.who, not change.quiet)
    to = tuple(who for who, wanted in asked.items() if wanted)
    ends = [shift.called_off or utc(shift.end) for _, shift in seen.shifts(day)]
    if to and ends:
        first, label = max(ends) + timedelta(minutes=EVENING_AFTER_MIN), day.isoformat()
        line = Wanted(DAILY_REPORT, day, first, first + STILL_GOOD, to=to, reason=lambda: seen.has_made(label))
        yield replace(line, picture={"report": label})


def seals(seen: Seen, day: date) -> Iterator[Wanted]:
    """The seal of the log, once for all crews, after the last of them: who has it can prove later what stood there."""
    ends = [shift.called_off or utc(shift.end) for _, shift in seen.shifts(day) if shift.works]
    if seen.site.reminding.seal and ends:
        first = max(ends) + timedelta(minutes=EVENING_AFTER_MIN)
        yield Wanted("seal", day, first, first + STILL_GOOD)


# --- covers ---------------------------------------------------------------------------------------------------------


def _covers(c: Crewed) -> Iterator[Wanted]:
    """Welds since the last cover; counted by the half hour while there is work."""
    begins, ends = utc(c.shift.start), utc(c.shift.end)
    day = c.shift.day.isoformat()
    if not c.seen.site.reminding.cover or not begins <= c.seen.now <= ends or not c.seen.has_made(day):
        return
    every = timedelta(minutes=COVER_EVERY_MIN)
    mark = begins + (c.seen.now - begins) // every * every
    yield Wanted(tagged(LOOK, c.shift), c.shift.day, mark + every, ends, iron="cover")
    if c.seen.now - mark > timedelta(minutes=1):
        return
    for iron in dict.fromkeys((*c.irons, *(i.iron for i in c.seen.irons), "")):
        yield Wanted(
            tagged("cover", c.shift),
            c.shift.day,
            mark,
            mark + every,
            iron=iron,
            values={"iron": iron, "n": c.seen.site.reminding.cover_welds},
            crew=c.crew,
            reason=lambda iron=iron: _is_cover_due(c, iron),  # type: ignore[misc]
        )


def _is_cover_due(c: Crewed, iron: str) -> bool:
    return welds_on_cover(c.seen, c.shift.day, iron) >= c.seen.site.reminding.cover_welds


def welds_on_cover(seen: Seen, day: date, iron: str) -> int:
    """Welds of an iron since its cover was changed or last spoken of, some days back at most."""
    welds = 0
    for back in range(COVER_DAYS):
        label = (day - timedelta(days=back)).isoformat()
        since = _cover_since(seen, label, iron)
        made = [s for s in seen.log.splices(day=label) if (s.iron or "") == iron and s.status != "voided"]
        welds += sum(1 for s in made if since is None or (s.made_at or seen.now) > since)
        if since is not None:
            break
    return welds


def _cover_since(seen: Seen, day: str, iron: str) -> datetime | None:
    changed = [e.at for e in seen.events(day) if e.event == "cover_changed" and e.iron in (iron or None, None, "all")]
    told = [r.at for r in seen.reminded(day) if r.what.startswith("cover") and (r.iron or "") == iron]
    return max([*changed, *told], default=None)


# --- pours ----------------------------------------------------------------------------------------------------------


def pour_lines(seen: Seen) -> Iterator[Wanted]:
    """Before each planned pour: what still stands in its way, to those who inspect and to the leads."""
    if not seen.site.reminding.pour:
        return
    for pour in seen.log.pours():
        day = _date(pour.date)
        if day is None or not -1 <= (day - seen.local.date()).days <= 7:
            continue
        for first in _pour_times(pour, day, seen):
            local = first.astimezone(seen.site.tz)
            yield Wanted(
                f"pour {pour.place}"[:60],
                local.date(),
                first,
                min(first + STILL_GOOD, _pour_at(pour, day, seen)),
                values={"place": pour.place, "date": day, "at": pour.time and _pour_local(pour, day, seen)},
                reason=lambda pour=pour: _is_open(pour, seen),  # type: ignore[misc]
            )


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _pour_local(pour: Pour, day: date, seen: Seen) -> datetime:
    _, shift = seen.shifts(day)[0]
    return moment_of(pour.time, day, seen.local) if is_clock(pour.time) and pour.time else shift.start


def _pour_at(pour: Pour, day: date, seen: Seen) -> datetime:
    return utc(_pour_local(pour, day, seen))


def _pour_times(pour: Pour, day: date, seen: Seen) -> list[datetime]:
    """The working day before, while there is time to inspect, and some time before the pour itself."""
    times = [_pour_at(pour, day, seen) - timedelta(minutes=POUR_BEFORE_MIN)]
    for back in range(1, 8):
        worked = [s for _, s in seen.shifts(day - timedelta(days=back)) if s.works]
        if worked:
            times.append(utc(worked[0].end, -DAY_BEFORE_MIN))
            break
    # Who has just planned it was told what is open.
    return [t for t in times if t > pour.at.astimezone(UTC)]


def _is_open(pour: Pour, seen: Seen) -> bool:
    released = any(r.at >= pour.at for r in seen.log.releases(pour.place))
    return not released and not seen.log.place(pour.place).is_ready


# --- their words ----------------------------------------------------------------------------------------------------


def line_values(line: Wanted, seen: Seen) -> dict[str, object]:
    """What fills the phrases of a line at the time it goes out."""
    values = {**line.values, "time": seen.local}
    match line.kind:
        case "pour":
            return values | {"points": points(seen.log.place(str(line.values["place"])))}
        case "rework":
            numbers = [s.number for s in seen.log.open_rework()]
            return values | {"numbers": numbers, "first": numbers[0]}
        case "report" | "daily_report":
            counts = seen.log.counts(first=line.day.isoformat(), last=line.day.isoformat())
            made = sum(c.n for c in counts if c.status != "voided")
            by = {
                status: sum(c.n for c in counts if c.status == status) for status in ("accepted", "rejected", "pending")
            }
            return values | by | {"made": made, "date": line.day, "waiting": by["pending"]}
    return values


# --- what people asked for ------------------------------------------------------------------------------------------


def own_lines(seen: Seen, day: date) -> Iterator[Wanted]:
    """Reminders somebody asked for himself, at the time he gave."""
    for change in (*seen.changes(day.isoformat()), *_coming_back(seen, day)):
        if change.remind_at and not (change.what == "unplug" and _is_off_since(seen, day, change)):
            yield Wanted(
                own_name(change),
                day,
                change.remind_at,
                change.remind_at + STILL_GOOD,
                to=change.who,
                values={"text": change.what or "", "irons": []},
            )


def _coming_back(seen: Seen, day: date) -> Iterator[DayChange]:
    """Those of every day and of this weekday that nobody ended; none on a day off of whoever asked for it."""
    asked: dict[tuple[tuple[str, ...], str], DayChange] = {}
    for change in seen.changes(""):
        if change.quiet and change.every and change.clock is None:
            asked = {key: c for key, c in asked.items() if key[0] != change.who}
        elif change.every and change.clock:
            asked[change.who, change.clock] = change
    for change in asked.values():
        at = moment_of(change.clock or "", day, seen.local).astimezone(UTC)
        if not change.quiet and at > change.at and _falls_on(change, day, seen):
            yield replace(change, remind_at=at)


def _falls_on(change: DayChange, day: date, seen: Seen) -> bool:
    if change.every != "day":
        return change.every == WEEKDAYS[day.weekday()]
    who = change.who[0] if change.who else ""
    crew = crew_of(who, seen.site)
    works = any(s.works for c, s in seen.shifts(day) if crew is EVERYBODY or c == crew)
    return works and not is_off(who, seen.changes(day.isoformat()))


def _is_off_since(seen: Seen, day: date, change: DayChange) -> bool:
    """All irons are known to be off since they were last on."""
    if known := seen.irons:
        return not any(i.on for i in known)
    told: Sequence[datetime] = [at for what, at in seen.acknowledged(day.isoformat()) if what == "unplug"]
    off = [e.at for e in seen.events(day.isoformat()) if e.event in OFF_EVENTS]
    return any(at >= change.at for at in (*told, *off))
