"""The day's report in words: facts of daily.py become a document. Nothing is counted or judged here."""

from __future__ import annotations

from dataclasses import replace

from sitebot.message import Language, Say, Term
from sitebot.reports.daily import Daily, PlaceLine, Seal, is_left_on
from sitebot.reports.document import Block, Document, Lines, Table
from sitebot.reports.photo_pages import MOST_OF_A_DAY, shots, waiting
from sitebot.reports.splice_pages import doubts, rework, splices
from sitebot.reports.words import NOTHING, Words, time_of
from sitebot.respond.desk import Desk
from sitebot.respond.heat import way_said
from sitebot.respond.people import names_of
from sitebot.respond.weather import parts_said


def document(d: Daily, desk: Desk, language: Language) -> Document:
    """The day's report, ready to be typeset."""
    w = Words(language, desk.site.tz)
    table = splices(w.label("splices_of_day"), d.splices, d.day, desk, w)
    doubtful = doubts(d.splices, d.day, w)
    doubtful = replace(doubtful, lines=(*doubtful.lines, *waiting(d.photos_of_day, d.day, desk, w)))
    seen = [shots(w.label("photos"), d.photos, d.day, desk, w, MOST_OF_A_DAY)] if d.photos else []
    blocks: tuple[Block, ...] = (
        tally(d, w),
        table,
        rework(d.rework, d.day, desk, w),
        *seen,
        open_points(d, w),
        doubtful,
    )
    return sealed(
        w,
        desk,
        d.seal,
        title=w.label("daily"),
        date=w.date(d.day),
        facts=head(d, desk, w),
        blocks=blocks,
    )


def sealed(
    w: Words,
    desk: Desk,
    seal: Seal,
    *,
    title: str,
    date: str,
    facts: tuple[tuple[str, str], ...],
    blocks: tuple[Block, ...],
) -> Document:
    """A document with its seal, signatures and the standing caution."""
    read = seal.at.astimezone(w.zone).date()
    site, day = desk.site.name, w.date(read)
    return Document(
        title=title,
        date=date,
        site=site,
        language=w.language,
        facts=facts,
        blocks=blocks,
        signatures=w.labels("sign_lead sign_inspector"),
        made=(read.year, read.month, read.day),
        caution=w.label("caution"),
        seal=w.say("seal", n=seal.entries, date=day, at=w.clock(seal.at)),
        hash=seal.hash,
        footer=f"{title}, {date}. {site}. {w.say('seal_short', n=seal.entries, hash=seal.hash[:12])}",
        page=w.label("page"),
        paper="a4" if desk.site.units == "metric" else "us-letter",
    )


def head(d: Daily, desk: Desk, w: Words) -> tuple[tuple[str, str], ...]:
    """Who, with what, under which conditions."""
    crew = w.names(d.crew) or NOTHING
    rows = [("crew", w.say("crew_inferred", names=crew) if d.is_crew_inferred and d.crew else crew)]
    rows += [("lead", w.names(d.leads) or NOTHING)]
    rows += [("inspector", w.names(d.inspectors) or w.label("no_inspector"))]
    rows += [("changes", "; ".join(_changes(d, desk, w)))] if _changes(d, desk, w) else []
    rows += [("irons", "\n".join(_irons(d, w)) or w.label("none_told"))]
    rows += [("samples", "; ".join(_samples(d, desk, w)) or w.label("none_told"))]
    rows += [("weather", "; ".join(_weather(d, w)) or w.label("by_hand"))]
    rows += [("read", w.moment(d.seal.at, ""))]
    return tuple((w.label(k), text) for k, text in rows)


def _changes(d: Daily, desk: Desk, w: Words) -> list[str]:
    """What was moved about the shift of that day, and by whom."""
    found = []
    for c in d.changes:
        what = w.label("no_work") if c.no_work else ""
        if c.start or c.end or what:
            by = desk.log.name_of(c.by) if c.by else None
            who = w.names(desk.log.name_of(p) for p in c.who) or None
            at = w.moment(c.at, d.day)
            hours = {"start": time_of(c.start), "end": time_of(c.end)}
            found.append(w.say("change", what=what, **hours, who=who, by=by, at=at))
    return found


def _irons(d: Daily, w: Words) -> list[str]:
    lines = []
    for iron, events in sorted(d.irons.items()):
        told = [
            w.say(
                "iron_event",
                what=w.term(f"iron_event.{e.event}"),
                temp=e.temp_f,
                by=way_said(e.temp_by),
                at=w.moment(e.at, d.day),
            )
            for e in events
        ]
        told += [w.label("left_on")] if is_left_on(events) else []
        lines.append(w.say("iron", iron=iron or w.label("unnamed"), told=", ".join(told)))
    return lines


def _weather(d: Daily, w: Words) -> list[str]:
    return [w.text(Say("weather.at", {"time": w.moment(x.at, d.day), "parts": parts_said(x)})) for x in d.weather]


def _samples(d: Daily, desk: Desk, w: Words) -> list[str]:
    return [
        w.say(
            "sample",
            at=w.moment(s.at, d.day),
            iron=s.iron,
            verdict=w.label(f"sample_{s.verdict}"),
            defect=Term(f"defect.{s.defect}") if s.defect else None,
            witness=names_of(s.witness, desk),
        )
        for s in d.samples
    ]


def tally(d: Daily, w: Words) -> Table:
    """Every place against its plan."""
    rows = tuple(_place_row(p, w) for p in d.places)
    columns = w.labels("place planned today made accepted rejected pending state")
    return Table(
        w.label("tally"), columns, ("1.6", "2", "auto", "auto", "auto", "auto", "auto", "1.6"), rows, w.label("nothing")
    )


def _place_row(p: PlaceLine, w: Words) -> tuple[str, ...]:
    state = w.label("complete") if p.is_ready else w.label("open") if p.planned else w.label("no_plan")
    if p.released:
        state += f"; {w.label('released_against' if p.released.open_points else 'released')}"
    counts = (p.today, p.made, p.accepted, p.rejected, p.pending)
    planned = w.kinds(p.planned.items()) or NOTHING
    return (p.name or w.label("no_place"), planned, *(str(n) for n in counts), state)


def open_points(d: Daily, w: Words) -> Lines:
    """What is open at each place, planned pours first."""
    due = sorted(d.places, key=lambda p: (p.pour is None, p.pour.date if p.pour else ""))
    lines = [_open_line(p, w) for p in due if p.open_points]
    if d.relayed:
        lines.append(w.say("to_confirm", numbers=[r.number for r in d.relayed]))
    lines += [w.say("unplug_open", iron=iron or w.label("unnamed")) for iron, e in d.irons.items() if is_left_on(e)]
    return Lines(w.label("open_points"), tuple(lines), w.label("nothing_open"))


def _open_line(p: PlaceLine, w: Words) -> str:
    pour = w.date(p.pour.date) if p.pour and p.pour.date else None
    return w.say("open_at", place=p.name, pour=pour, points="; ".join(w.text(x) for x in p.open_points))
