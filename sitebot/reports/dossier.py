"""The pour dossier: everything the log holds of one place, on paper, before it is cast in. Reads, changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sitebot.drawings.maps import place_maps
from sitebot.drawings.svg import svg
from sitebot.errors import DataError
from sitebot.message import Language, Say, Term
from sitebot.record import Damage, IronEvent, KeptPhoto, Place, Pour, Sample, Splice
from sitebot.reports.daily import Line, Seal, lines_of
from sitebot.reports.daily_pages import sealed
from sitebot.reports.document import Block, Document, Lines, Picture
from sitebot.reports.figures import marks
from sitebot.reports.photo_pages import of_place, shots
from sitebot.reports.splice_pages import doubts, rework, splices
from sitebot.reports.words import NOTHING, Words, number, time_of
from sitebot.respond.desk import Desk
from sitebot.respond.heat import way_said
from sitebot.respond.people import names_of
from sitebot.respond.pours import open_points
from sitebot.respond.weather import parts_said


@dataclass(frozen=True, slots=True, kw_only=True)
class Dossier:
    """One place with every splice ever made there."""

    place: Place
    splices: tuple[Line, ...]
    pours: Sequence[Pour]
    releases: Sequence[Pour]
    samples: Sequence[Sample]
    readings: Sequence[IronEvent]
    damages: Sequence[Damage]
    photos: Sequence[KeptPhoto]
    seal: Seal


def dossier(desk: Desk, name: str, head: tuple[int, str]) -> Dossier:
    """Of a place of the plan or of the log; DataError where neither knows it."""
    log = desk.log
    if name not in {p.name for p in log.plan()} | set(log.places_used()):
        known = ", ".join(dict.fromkeys([*(p.name for p in log.plan()), *log.places_used()]))
        raise DataError(f"{name!r}: no such place. Name one of: {known}.")
    lines = lines_of(log.splices(place=name), desk)
    days = {x.splice.day for x in lines}
    return Dossier(
        place=log.place(name),
        splices=lines,
        pours=[p for p in log.pours() if p.place == name],
        releases=log.releases(name),
        samples=[s for day in sorted(days) for s in log.samples(day)],
        readings=[e for day in sorted(days) for e in log.iron_events(day) if e.temp_f is not None],
        damages=log.damages(name),
        photos=of_place(name, {x.splice.number for x in lines}, days, desk),
        seal=Seal(entries=head[0], hash=head[1], at=desk.now),
    )


def document(d: Dossier, desk: Desk, language: Language) -> Document:
    """The dossier, ready to be typeset; the same look as the day's report."""
    w = Words(language, desk.site.tz)
    made = [x for x in d.splices if x.splice.status != "voided"]
    sheets = place_maps(d.place.name, marks(d.place.name, desk.log), language)
    rejected = [x for x in made if x.splice.status == "rejected"]
    blocks: tuple[Block, ...] = (
        splices(w.label("all_splices"), d.splices, "", desk, w),
        rework(rejected, "", desk, w),
        Lines(w.label("open_points"), tuple(_open(d, desk, w)), w.label("nothing_open")),
        _damages(d, w),
        _samples(d, desk, w),
        doubts(made, "", w),
        *([shots(w.label("photos_all"), d.photos, "", desk, w)] if d.photos else []),
        *(Picture(w.label("map"), svg(sheet), sheet.title, 0.62) for sheet in sheets if made or d.place.planned),
    )
    title = f"{w.label('dossier')}: {d.place.name}"
    return sealed(w, desk, d.seal, title=title, date=w.date(desk.day), facts=_facts(d, desk, w), blocks=blocks)


def _open(d: Dossier, desk: Desk, w: Words) -> list[str]:
    return [] if d.place.is_ready else [w.text(point) for point in open_points(d.place, desk)]


def _facts(d: Dossier, desk: Desk, w: Words) -> tuple[tuple[str, str], ...]:
    made = [x.splice for x in d.splices if x.splice.status != "voided"]
    days = [w.date(day) for day in sorted({s.day for s in made})]
    span = days[0] if len(days) == 1 else w.say("days", n=len(days), first=days[0], last=days[-1]) if days else NOTHING
    counts = [
        w.say("of_plan", n=d.place.accepted.get(kind, 0), planned=n, kind=Term(f"kind.{kind}", n))
        for kind, n in d.place.planned.items()
    ]
    people = dict.fromkeys(desk.log.name_of(p) for s in made for p in s.welders)
    rows = [
        ("plan", ", ".join(counts) or w.label("no_plan")),
        ("state_of", w.label("complete" if d.place.is_ready else "open")),
        ("pours", "; ".join(_pours(d, desk, w)) or w.label("none_planned")),
        ("days_worked", span),
        ("people", w.names(people) or NOTHING),
        ("irons", w.names(sorted({s.iron for s in made if s.iron})) or NOTHING),
        ("heats", _heats(d, w)),
        ("weather", "; ".join(_weather(made, desk, w)) or NOTHING),
        ("materials", w.names(sorted({x for s in made for x in (s.profile, s.lot) if x})) or NOTHING),
        ("read", w.moment(d.seal.at, "")),
    ]
    return tuple((w.label(k), text) for k, text in rows)


def _weather(made: Sequence[Splice], desk: Desk, w: Words) -> list[str]:
    """What was told on the days of its splices, each day's words with their hours."""
    told = [word for day in sorted({s.day for s in made}) for word in desk.log.weather(day)]
    return [w.text(Say("weather.at", {"time": w.moment(x.at, ""), "parts": parts_said(x)})) for x in told]


def _heats(d: Dossier, w: Words) -> str:
    temps = [e.temp_f for e in d.readings if e.temp_f is not None]
    return (
        w.say(
            "heats",
            n=len(temps),
            readings=Term("report.reading", len(temps)),
            low=number(min(temps)),
            high=number(max(temps)) if max(temps) > min(temps) else None,
            by=list(map(way_said, dict.fromkeys(e.temp_by for e in d.readings if e.temp_by))),
        )
        if temps
        else NOTHING
    )


def _pours(d: Dossier, desk: Desk, w: Words) -> list[str]:
    planned = [
        w.say("pour_planned", date=w.date(p.date) if p.date else None, at=_clock(p.time), by=desk.log.name_of(p.by))
        for p in d.pours[-1:]
    ]
    released = [
        w.say(
            "pour_released",
            by=desk.log.name_of(p.by),
            at=w.moment(p.at, ""),
            reason=p.reason or None,
            against=w.label("with_open_points") if p.open_points else None,
        )
        for p in d.releases
    ]
    return [*planned, *released]


def _clock(text: str | None) -> object:
    """A pour's hour stands as it was told where it is no clock time."""
    try:
        return time_of(text)
    except ValueError:
        return text


def _damages(d: Dossier, w: Words) -> Lines:
    lines = [w.say("damage", number=x.number, what=x.what) for x in d.damages]
    return Lines(w.label("history"), tuple(lines), w.label("no_damage"))


def _samples(d: Dossier, desk: Desk, w: Words) -> Lines:
    lines = [
        w.say(
            "sample",
            at=w.moment(s.at, ""),
            iron=s.iron,
            verdict=w.label(f"sample_{s.verdict}"),
            defect=Term(f"defect.{s.defect}") if s.defect else None,
            witness=names_of(s.witness, desk),
        )
        for s in d.samples
    ]
    return Lines(w.label("samples"), tuple(lines), w.label("none_told"))
