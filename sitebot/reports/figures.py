"""What charts and maps show, counted from the log: values for drawings/. What a figure means is said there."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Container, Iterable
from datetime import date, datetime, timedelta, tzinfo

from sitebot.drawings.charts import DayMade, Finish, Judged
from sitebot.drawings.charts_irons import CoverStep, Reading
from sitebot.drawings.maps import Mark, State
from sitebot.record import IronEvent, Log, Splice
from sitebot.reports.forecast import MOST_DAYS, WorkDays, finish
from sitebot.respond.shifts import is_workday
from sitebot.site import Site


def days_made(splices: Iterable[Splice]) -> list[DayMade]:
    """Splices of each day on which any was made, void ones left out."""
    counts: dict[str, Counter[bool]] = defaultdict(Counter)
    for s in splices:
        if s.status != "voided":
            counts[s.day][s.status == "rejected"] += 1
    return [DayMade(date.fromisoformat(day), n[False], n[True]) for day, n in sorted(counts.items())]


def planned(log: Log) -> int:
    return sum(sum(p.kinds.values()) for p in log.plan())


def remaining(log: Log, splices: Iterable[Splice]) -> int:
    """Planned ones nobody has made yet; one that is not inspected counts as made, one that was rejected does not."""
    good = Counter((s.place, s.kind) for s in splices if s.status in ("pending", "accepted"))
    return sum(max(0, n - good[p.name, kind]) for p in log.plan() for kind, n in p.kinds.items())


def finish_of(log: Log, site: Site) -> Finish | None:
    """The likely finish at the pace of all work days from the first splice to the last one."""
    splices = log.splices()
    made = days_made(splices)
    left = remaining(log, splices)
    if not made or not left:
        return None
    by_day = {d.day: d.good for d in made}
    span = (made[-1].day - made[0].day).days
    days = [made[0].day + timedelta(days=i) for i in range(span + 1)]
    # A work day without a splice is part of the pace; a Sunday without one is not.
    found = finish([by_day.get(d, 0) for d in days if d in by_day or is_workday(d, site)], left)
    return dated(found, made[-1].day, site) if found else None


def dated(found: WorkDays, last: date, site: Site) -> Finish:
    def day(n: int) -> date:
        at = last
        # A calendar without any work day must not run for ever.
        for _ in range(7 * MOST_DAYS):
            if n == 0:
                break
            at += timedelta(days=1)
            n -= is_workday(at, site)
        return at

    return Finish(day(found.early), day(found.likely), day(found.late) if found.late is not None else None)


def first_passes(splices: Iterable[Splice]) -> list[Judged]:
    """First inspections by the week the splice was made; redos are not counted."""
    return _judged((s for s in splices if s.redo_of is None), monday)


def monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def rejects(splices: Iterable[Splice]) -> list[Judged]:
    """Verdicts by the day the splice was made, redos counted like any weld."""
    return _judged(splices, lambda day: day)


def _judged(splices: Iterable[Splice], group: Callable[[date], date]) -> list[Judged]:
    counts: dict[date, Counter[str]] = defaultdict(Counter)
    for s in splices:
        if s.status in ("accepted", "rejected"):
            counts[group(date.fromisoformat(s.day))][s.status] += 1
    return [Judged(day, n["rejected"], n.total()) for day, n in sorted(counts.items())]


def readings(events: Iterable[IronEvent], splices: Iterable[Splice], zone: tzinfo) -> list[Reading]:
    """Heats told of irons, by themselves and with splices."""
    told = [(e.at, e.iron, e.temp_f) for e in events]
    told += [(s.made_at, s.iron, s.temp_f) for s in splices if s.made_at and s.status != "voided"]
    return [Reading(day_number(at, zone), iron or "?", temp) for at, iron, temp in told if temp is not None]


def day_number(moment: datetime, zone: tzinfo) -> float:
    """Days, with the local time of day as the fraction."""
    local = moment.astimezone(zone)
    return local.toordinal() + (local.hour * 60 + local.minute) / 1440


def covers(events: Iterable[IronEvent], splices: Iterable[Splice], zone: tzinfo) -> dict[str, list[CoverStep]]:
    """Welds since the last new cover, iron by iron; splices without an iron are nobody's."""
    told = [(s.made_at, s.iron, 1) for s in splices if s.made_at and s.iron and s.status != "voided"]
    told += [(e.at, e.iron, 0) for e in events if e.iron and e.event == "cover_changed"]
    steps: dict[str, list[CoverStep]] = defaultdict(list)
    for at, iron, more in sorted(told, key=lambda x: x[0]):
        before, day = steps[iron][-1].welds if steps[iron] else 0, day_number(at, zone)
        # The last count of the old cover stands at the hour of the change, so that the line falls there.
        steps[iron] += [CoverStep(day, before + 1)] if more else [CoverStep(day, before), CoverStep(day, 0)]
    return dict(sorted(steps.items()))


def marks(place: str, log: Log) -> list[Mark]:
    """Every splice made at a place in order of number, then what the plan still wants."""
    made = [s for s in log.splices(place=place) if s.status != "voided"]
    open_now = {s.number for s in log.open_rework()}
    plan = next((p.kinds for p in log.plan() if p.name == place), {})
    good = Counter(s.kind for s in made if s.status in ("pending", "accepted"))
    left = [Mark(kind, "planned") for kind, n in plan.items() for _ in range(n - good[kind])]
    return [*(Mark(s.kind, _state(s, open_now), s.number) for s in made), *left]


def _state(s: Splice, open_now: Container[int]) -> State:
    if s.status == "rejected":
        return "rejected" if s.number in open_now else "redone"
    if s.damaged:
        return "damaged"
    return "accepted" if s.status == "accepted" else "pending"
