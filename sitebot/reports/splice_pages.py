"""Splices in words: the table of them, their verdicts, rejects and doubts, for every report that lists splices."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sitebot.message import Say, Term
from sitebot.reports.daily import Line
from sitebot.reports.document import Lines, Table
from sitebot.reports.words import NOTHING, Words, number
from sitebot.respond.desk import Desk
from sitebot.respond.findings import findings_said
from sitebot.respond.heat import way_said

#: How the verdict is marked for who sees no colours.
MARKS = {"accepted": "●", "rejected": "×", "pending": "○", "voided": "–"}


def splices(title: str, lines: tuple[Line, ...], day: str, desk: Desk, w: Words) -> Table:
    """Every splice with every field; no material where none was told, no place where all are of one (no ``day``)."""
    fields: list[tuple[str, str, Callable[[Line], str]]] = [
        ("number", "auto", lambda x: str(x.splice.number)),
        ("time", "auto", lambda x: w.moment(x.splice.made_at, day) if x.splice.made_at else NOTHING),
        ("place", "1.1", lambda x: x.splice.place or NOTHING),
        ("kind", "1", lambda x: w.term(f"kind.{x.splice.kind}") if x.splice.kind != "unknown" else NOTHING),
        ("welders", "1.3", lambda x: ", ".join(desk.log.name_of(p) for p in x.splice.welders) or NOTHING),
        ("iron", "auto", lambda x: x.splice.iron or NOTHING),
        ("temp", "auto", lambda x: number(x.splice.temp_f)),
        ("material", "1", lambda x: ", ".join(filter(None, (x.splice.profile, x.splice.lot))) or NOTHING),
        ("verdict", "2.3", lambda x: verdict(x, day, desk, w)),
        ("remarks", "1.5", lambda x: remarks(x, w)),
    ]
    away = {"place"} if not day else set()
    away |= set() if any(x.splice.profile or x.splice.lot for x in lines) else {"material"}
    fields = [f for f in fields if f[0] not in away]
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
    found += [w.say("heat_by", by=way_said(s.temp_by))] if s.temp_by else []
    flags = {"mark_self": s.self_inspected, "mark_corrected": line.is_corrected, "mark_damaged": s.damaged}
    found += [w.text(part) for part in findings_said(s.findings)]
    return ", ".join([*found, *(w.label(k) for k, holds in flags.items() if holds)])


def rework(lines: Sequence[Line], day: str, desk: Desk, w: Words) -> Lines:
    """Each rejected splice with its reason and what became of it."""
    return Lines(
        w.label("rework"),
        tuple(rejected(x, day, desk, w) for x in lines),
        w.label("none_rejected" if day else "none_rejected_ever"),
    )


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


def doubts(lines: Sequence[Line], day: str, w: Words) -> Lines:
    """Entries that were told late or leave something open, with the words they came in; one line a message."""
    grouped: dict[tuple[str, str], list[int]] = {}
    for x in lines:
        if x.doubts:
            grouped.setdefault((_why(x, day, w), x.said), []).append(x.splice.number)
    told = [w.say("doubt", numbers=n, why=why, said=_quoted(said)) for (why, said), n in grouped.items()]
    return Lines(w.label("doubts"), tuple(told), w.label("no_doubts"))


def _why(x: Line, day: str, w: Words) -> str:
    why = [w.label(f"doubt_{m}") for m in x.doubts if m != "late"]
    if "late" in x.doubts:
        told = w.moment(x.splice.told_at, day) if x.splice.told_at else ""
        why.insert(0, w.say("doubt_late", made=w.clock(x.splice.made_at), told=told))
    return "; ".join(why)


def _quoted(said: str) -> str | None:
    text = " ".join(said.split())
    return f"“{text[:90]}{'…' if len(text) > 90 else ''}”" if text else None
