"""The day's report in words: facts of daily.py become a document. Nothing is counted or judged here."""

from __future__ import annotations

from collections.abc import Callable

from sitebot.message import Language, Say, Term
from sitebot.reports.daily import Daily, Line, PlaceLine, Seal, is_left_on
from sitebot.reports.document import Block, Document, Lines, Table
from sitebot.reports.words import NOTHING, Words, number
from sitebot.respond.desk import Desk

#: How the verdict is marked for who sees no colours.
MARKS = {"accepted": "●", "rejected": "×", "pending": "○", "voided": "–"}


def document(d: Daily, desk: Desk, language: Language) -> Document:
    """The day's report, ready to be typeset."""
    w = Words(language, desk.site.tz)
    table = splices(w.label("splices_of_day"), d.splices, d.day, desk, w)
    blocks = (tally(d, w), table, rework(d, desk, w), open_points(d, w), doubts(d, w))
    return sealed(
        w,
        desk,
        d.seal,
        title=w.label("daily"),
        subtitle=f"{d.site}, {w.date(d.day)}",
        facts=head(d, desk, w),
        blocks=blocks,
    )


def sealed(
    w: Words,
    desk: Desk,
    seal: Seal,
    *,
    title: str,
    subtitle: str,
    facts: tuple[tuple[str, str], ...],
    blocks: tuple[Block, ...],
) -> Document:
    """A document with its seal, signatures and the standing caution."""
    day = desk.day_of(seal.at)
    return Document(
        title=title,
        subtitle=subtitle,
        language=w.language,
        facts=facts,
        blocks=blocks,
        signatures=w.labels("sign_lead sign_inspector"),
        caution=w.label("caution"),
        seal=w.say("seal", n=seal.entries, date=w.date(day), at=w.clock(seal.at)),
        hash=seal.hash,
        footer=f"{title}. {subtitle}. {w.say('seal_short', n=seal.entries, hash=seal.hash[:12])}",
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
    rows += [("samples", "; ".join(_samples(d, w)) or w.label("none_told"))]
    rows += [("weather", w.label("by_hand"))]
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
            found.append(w.say("change", what=what, start=c.start, end=c.end, who=who, by=by, at=at))
    return found


def _irons(d: Daily, w: Words) -> list[str]:
    lines = []
    for iron, events in sorted(d.irons.items()):
        told = [
            w.say("iron_event", what=w.term(f"iron_event.{e.event}"), temp=e.temp_f, at=w.moment(e.at, d.day))
            for e in events
        ]
        told += [w.label("left_on")] if is_left_on(events) else []
        lines.append(w.say("iron", iron=iron or w.label("unnamed"), told=", ".join(told)))
    return lines


def _samples(d: Daily, w: Words) -> list[str]:
    return [
        w.say(
            "sample",
            at=w.moment(s.at, d.day),
            iron=s.iron,
            verdict=w.label(f"sample_{s.verdict}"),
            defect=Term(f"defect.{s.defect}") if s.defect else None,
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


def splices(title: str, lines: tuple[Line, ...], day: str, desk: Desk, w: Words) -> Table:
    """Every splice with every field; columns that nobody ever fills stay away."""
    fields: list[tuple[str, str, Callable[[Line], str]]] = [
        ("number", "auto", lambda x: str(x.splice.number)),
        ("time", "auto", lambda x: w.moment(x.splice.made_at, day) if x.splice.made_at else NOTHING),
        ("place", "1.3", lambda x: x.splice.place or NOTHING),
        ("kind", "1", lambda x: w.term(f"kind.{x.splice.kind}") if x.splice.kind != "unknown" else NOTHING),
        ("welders", "1.3", lambda x: ", ".join(desk.log.name_of(p) for p in x.splice.welders) or NOTHING),
        ("iron", "auto", lambda x: x.splice.iron or NOTHING),
        ("temp", "auto", lambda x: number(x.splice.temp_f)),
        ("material", "1", lambda x: ", ".join(filter(None, (x.splice.profile, x.splice.lot))) or NOTHING),
        ("verdict", "1.9", lambda x: verdict(x, day, desk, w)),
        ("remarks", "1.4", lambda x: remarks(x, w)),
    ]
    if not any(x.splice.profile or x.splice.lot for x in lines):
        fields = [f for f in fields if f[0] != "material"]
    return Table(
        title,
        tuple(w.label(name) for name, _, _ in fields),
        tuple(width for _, width, _ in fields),
        tuple(tuple(cell(line) for _, _, cell in fields) for line in lines),
        w.label("no_splices"),
    )


def verdict(line: Line, day: str, desk: Desk, w: Words) -> str:
    s = line.splice
    values = {
        "mark": MARKS[s.status],
        "status": w.term(f"status.{s.status}"),
        "defect": Term(f"defect.{s.defect}") if s.defect and s.status == "rejected" else None,
        "value": measured(line) if s.status == "rejected" else None,
        "by": desk.log.name_of(s.verdict_by) if line.judged_at and s.verdict_by else None,
        "at": w.moment(line.judged_at, day) if line.judged_at else None,
    }
    return w.say("verdict", **values)


def measured(line: Line) -> str | None:
    s = line.splice
    return f"{s.value:g} {s.unit or ''}".strip() if s.value is not None else None


def remarks(line: Line, w: Words) -> str:
    """Short words for what a reader should know of a splice."""
    s = line.splice
    found = [w.say("redo_of", number=s.redo_of)] if s.redo_of is not None else []
    found += [w.say("redone_as", numbers=list(line.redone))] if line.redone else []
    found += [w.label(f"mark_{m}") for m in line.doubts if not m.startswith("no_") or m == "no_sample"]
    flags = {"mark_self": s.self_inspected, "mark_corrected": line.is_corrected, "mark_damaged": s.damaged}
    return ", ".join([*found, *(w.label(k) for k, holds in flags.items() if holds)])


def rework(d: Daily, desk: Desk, w: Words) -> Lines:
    """Each rejected splice with its reason and what became of it."""
    return Lines(w.label("rework"), tuple(rejected(x, d.day, desk, w) for x in d.rework), w.label("none_rejected"))


def rejected(line: Line, day: str, desk: Desk, w: Words) -> str:
    s = line.splice
    return w.say(
        "rejected",
        number=s.number,
        place=s.place,
        kind=Term(f"kind.{s.kind}") if s.kind != "unknown" else None,
        defect=Term(f"defect.{s.defect}") if s.defect else w.label("no_reason"),
        value=measured(line),
        by=desk.log.name_of(s.verdict_by) if s.verdict_by else None,
        at=w.moment(line.judged_at, day) if line.judged_at else None,
        after=[_redo(n, desk) for n in line.redone] or Say("report.not_redone"),
    )


def _redo(number: int, desk: Desk) -> Say:
    redo = desk.log.splice(number)
    return Say("report.redone", {"number": number, "status": Term(f"status.{redo.status if redo else 'pending'}")})


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


def doubts(d: Daily, w: Words) -> Lines:
    """Entries that were told late or leave something open, with the words they came in."""
    lines = []
    for x in d.splices:
        if x.doubts:
            why = [w.label(f"doubt_{m}") for m in x.doubts if m != "late"]
            if "late" in x.doubts:
                made, told = w.clock(x.splice.made_at), w.moment(x.splice.told_at, d.day) if x.splice.told_at else ""
                why.insert(0, w.say("doubt_late", made=made, told=told))
            lines.append(w.say("doubt", number=x.splice.number, why="; ".join(why), said=_quoted(x.said)))
    return Lines(w.label("doubts"), tuple(lines), w.label("no_doubts"))


def _quoted(said: str) -> str | None:
    text = " ".join(said.split())
    return f"“{text[:90]}{'…' if len(text) > 90 else ''}”" if text else None
