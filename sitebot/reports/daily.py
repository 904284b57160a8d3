"""What a day's report states, gathered from the log: values only. How it is said stands in daily_pages.py."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from sitebot.message import Say
from sitebot.record import DayChange, IronEvent, KeptPhoto, Place, Pour, Relayed, Sample, Splice, Weather
from sitebot.record import Line as Entry
from sitebot.reports.photo_pages import of_splices
from sitebot.respond.desk import Desk
from sitebot.respond.heat import heat_band
from sitebot.respond.pours import open_points

#: A splice told more than this after it was made is marked, also where the channel brought it late.
LATE = timedelta(minutes=60)
#: Before and after noon of a date: whatever belongs to its shift day, however long the night, lies in between.
AROUND = timedelta(hours=36)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """How far the log went when it was read: number of entries, hash of the last, time."""

    entries: int
    hash: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A splice with what happened to it since."""

    splice: Splice
    redone: tuple[int, ...] = ()
    judged_at: datetime | None = None
    is_corrected: bool = False
    #: The words it was reported with.
    said: str = ""
    #: Why it is marked: late, no_sample, too_hot, too_cold, no_place, no_kind, no_welder.
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLine:
    """A place against its plan, and what was made there on the day."""

    name: str | None
    planned: Mapping[str, int]
    today: int
    made: int
    accepted: int
    rejected: int
    pending: int
    is_ready: bool = False
    open_points: tuple[Say, ...] = ()
    pour: Pour | None = None
    released: Pour | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Daily:
    """One shift day of a site as the log shows it."""

    site: str
    day: str
    crew: tuple[str, ...]
    #: Nobody told the crew: those are the welders named.
    is_crew_inferred: bool
    leads: tuple[str, ...]
    inspectors: tuple[str, ...]
    irons: Mapping[str, tuple[IronEvent, ...]]
    samples: Sequence[Sample]
    weather: Sequence[Weather]
    changes: Sequence[DayChange]
    splices: tuple[Line, ...]
    #: Of rejects and rework; and all that came on the day.
    photos: Sequence[KeptPhoto]
    photos_of_day: Sequence[KeptPhoto]
    #: Rejected on the day or made then, and all that still is to be redone.
    rework: tuple[Line, ...]
    places: tuple[PlaceLine, ...]
    relayed: Sequence[Relayed]
    seal: Seal


def daily(desk: Desk, day: str, head: tuple[int, str]) -> Daily:
    """The report of a shift day, as the log stands now."""
    log = desk.log
    lines = lines_of(log.splices(day=day), desk)
    again = _rework(desk, day)
    told = log.crew(day)
    welders = dict.fromkeys(w for line in lines for w in line.splice.welders)
    return Daily(
        site=desk.site.name,
        day=day,
        crew=tuple(log.name_of(p) for p in (told if told is not None else welders)),
        is_crew_inferred=told is None,
        leads=tuple(p.name for p in desk.with_role("lead")),
        inspectors=tuple(p.name for p in desk.with_role("inspector")),
        irons=_by_iron(log.iron_events(day)),
        samples=log.samples(day),
        weather=log.weather(day),
        changes=log.day_changes(day),
        splices=lines,
        rework=again,
        photos=of_splices({n for x in again for n in (x.splice.number, *x.redone)}, desk),
        photos_of_day=log.photos(day=day),
        places=_places(desk, day),
        relayed=log.relayed(),
        seal=Seal(entries=head[0], hash=head[1], at=desk.now),
    )


def lines_of(splices: Sequence[Splice], desk: Desk) -> tuple[Line, ...]:
    """Splices with their stories, read at once."""
    stories = desk.log.histories([s.number for s in splices])
    band = heat_band(desk)
    return tuple(_line(s, stories[s.number], band, desk) for s in splices)


def _line(splice: Splice, story: Sequence[Entry], band: tuple[float, float], desk: Desk) -> Line:
    return Line(
        splice=splice,
        redone=tuple(r.number for r in desk.log.redos_of(splice.number)) if splice.status == "rejected" else (),
        judged_at=splice.judged_at if splice.status in ("accepted", "rejected") else None,
        is_corrected=any(e.kind in ("SpliceCorrected", "SpliceRenumbered") for e in story),
        said=next((e.text for e in story if e.kind == "SpliceReported"), ""),
        doubts=() if splice.status == "voided" else doubts_of(splice, band),
    )


def doubts_of(s: Splice, band: tuple[float, float]) -> tuple[str, ...]:
    """Why a reader should look twice at a splice."""
    low, high = band
    heat = s.temp_f
    marks = {
        "late": s.late or bool(s.made_at and s.told_at and s.told_at - s.made_at > LATE),
        "no_sample": s.before_sample,
        "too_hot": heat is not None and heat > high,
        "too_cold": heat is not None and heat < low,
        "no_place": not s.place,
        "no_kind": s.kind == "unknown",
        "no_welder": not s.welders,
    }
    return tuple(mark for mark, holds in marks.items() if holds)


def _by_iron(events: Sequence[IronEvent]) -> dict[str, tuple[IronEvent, ...]]:
    irons: dict[str, tuple[IronEvent, ...]] = {}
    for event in events:
        irons[event.iron or ""] = (*irons.get(event.iron or "", ()), event)
    return irons


def is_left_on(events: Sequence[IronEvent]) -> bool:
    """Plugged in or in use, and no unplugging told after that."""
    last = [e.event for e in events if e.event in ("plugged_in", "hot", "reading", "unplugged")]
    return bool(last) and last[-1] != "unplugged"


def _rework(desk: Desk, day: str) -> tuple[Line, ...]:
    """Rejects made, judged or redone on the day, and all that are open now. Of those of other days nothing is read."""
    log = desk.log
    made = log.splices(day=day)
    noon = datetime.combine(date.fromisoformat(day), time(12), desk.site.tz)
    judged = (
        s for s in log.rejected_between(noon - AROUND, noon + AROUND) if s.judged_at and desk.day_of(s.judged_at) == day
    )
    redone = (log.splice(s.redo_of) for s in made if s.redo_of is not None and s.status != "voided")
    found = {s.number: s for s in (*made, *log.open_rework(), *judged, *redone) if s and s.status == "rejected"}
    return lines_of([found[n] for n in sorted(found)], desk)


def _places(desk: Desk, day: str) -> tuple[PlaceLine, ...]:
    """Planned places in the order of the plan, then others that were worked at, then work without a place."""
    log = desk.log
    names = dict.fromkeys([*(p.name for p in log.plan()), *log.places_used()])
    lines = [_place_line(log.place(name), desk, day) for name in names]
    loose = _made("", desk, day)
    return (*lines, PlaceLine(name=None, planned={}, **loose)) if loose["made"] else tuple(lines)


def _made(place: str, desk: Desk, day: str) -> dict[str, Any]:
    """How many splices of a place stand where, from sums that cost the same on a log of any length."""
    today = desk.log.counts(first=day, last=day, place=place)
    counts = [c for c in desk.log.totals(place) if c.status != "voided"]
    by_status = {s: sum(c.n for c in counts if c.status == s) for s in ("accepted", "rejected", "pending")}
    made = {"made": sum(c.n for c in counts), "today": sum(c.n for c in today if c.status != "voided")}
    return made | by_status


def _place_line(place: Place, desk: Desk, day: str) -> PlaceLine:
    pours = [p for p in desk.log.pours() if p.place == place.name and (not p.date or p.date >= day)]
    released = desk.log.releases(place.name)
    return PlaceLine(
        name=place.name,
        planned=place.planned,
        is_ready=place.is_ready,
        open_points=() if place.is_ready else tuple(open_points(place, desk)),
        pour=pours[-1] if pours else None,
        released=released[-1] if released else None,
        **_made(place.name, desk, day),
    )
