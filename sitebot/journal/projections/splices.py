"""What entries about splices do to splices, counts and histories."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t
from sitebot.journal.prepared import Found, Prepared, b, selecting
from sitebot.journal.projections.row import Row, add, change, put, when

FINDINGS = ("visual", "bend", "checks", "cooled_min", "lab_no", "lab_percent")


def _splice(tx: sa.Connection, site: str, number: int) -> Found | None:
    return selecting(t.splices, ("number",)).first(tx, b_site=site, b_number=number)


def _count(tx: sa.Connection, splice: Mapping[str, Any], by: int) -> None:
    """Keep the counts in step: those of the day and, under day "", those of all days, in one statement.

    So a tally costs the same on a log of a thousand and of a million.
    """
    keys = {
        "site": splice["site"],
        "place": splice["place"] or "",
        "kind": splice["kind"],
        "status": splice["status"],
    }
    days = {splice["day"], ""}
    same = {f"b_{name}": value for name, value in keys.items()} | {"b_day": splice["day"]}
    if _MOVE.do(tx, **same, b_by=by) < len(days):
        known = {row["day"] for row in _KNOWN.all(tx, **same)}
        for day in sorted(days - known):
            add(tx, t.counts, {**keys, "day": day, "n": by})
    if by < 0:
        _SWEEP.do(tx, **same)


_C = t.counts.c
_SAME = sa.and_(*(_C[name] == b(_C[name]) for name in ("site", "place", "kind", "status")))
_BOTH = sa.and_(_SAME, sa.or_(_C.day == b(_C.day), _C.day == ""))
_MOVE = Prepared(t.counts.update().where(_BOTH).values(n=_C.n + b(_C.n, "by")))
_KNOWN = Prepared(sa.select(_C.day).where(_BOTH))
_SWEEP = Prepared(t.counts.delete().where(_BOTH, _C.n == 0))


def note(tx: sa.Connection, row: Row, number: int) -> None:
    add(tx, t.splice_entries, {"site": row.site, "number": number, "seq": row.seq})


def change_splice(tx: sa.Connection, row: Row, number: int, **values: Any) -> None:
    was = _splice(tx, row.site, number)
    if was is None:
        return
    change(tx, t.splices, {"site": row.site, "number": number}, values)
    now = {**was, **values}
    if any(was[k] != now[k] for k in ("day", "place", "kind", "status")):
        _count(tx, was, -1)
        _count(tx, now, +1)


def splice_reported(tx: sa.Connection, row: Row, entry: e.SpliceReported) -> None:
    values = {
        "site": row.site,
        "number": entry.number,
        "place": entry.place,
        "kind": entry.kind,
        "welders": json.dumps(entry.welders),
        "iron": entry.iron,
        "temp_f": entry.temp_f,
        "temp_by": entry.temp_by,
        "profile": entry.profile,
        "lot": entry.lot,
        "made_at": when(entry.made_at),
        "day": entry.day,
        "status": "pending",
        "defect": None,
        "value": None,
        "unit": None,
        "verdict_by": None,
        "judged_at": None,
        "self_inspected": False,
        "redo_of": entry.redo_of,
        "open": False,
        "told_by": row.person,
        "told_at": row.at,
        "late": entry.late,
        "before_sample": entry.before_sample,
        "damaged": False,
        "findings": "{}",
    }
    add(tx, t.splices, values)
    _count(tx, values, +1)
    note(tx, row, entry.number)
    if entry.redo_of is not None:
        change_splice(tx, row, entry.redo_of, open=False)
        note(tx, row, entry.redo_of)
        _close_damage(tx, row, entry.redo_of)


def splice_corrected(tx: sa.Connection, row: Row, entry: e.SpliceCorrected) -> None:
    change = dict(entry.change)
    if "welders" in change:
        change["welders"] = json.dumps(change["welders"])
    if "made_at" in change:
        change["made_at"] = when(change["made_at"])
    change_splice(tx, row, entry.number, **change)
    note(tx, row, entry.number)


def splice_voided(tx: sa.Connection, row: Row, entry: e.SpliceVoided) -> None:
    was = _splice(tx, row.site, entry.number)
    change_splice(tx, row, entry.number, status="voided", open=False)
    note(tx, row, entry.number)
    if was is not None and was["redo_of"] is not None:
        _reopen(tx, row, was["redo_of"])


def _reopen(tx: sa.Connection, row: Row, number: int) -> None:
    """A rejected splice whose only redo was voided is open again."""
    left = tx.execute(
        sa.select(sa.func.count()).where(
            t.splices.c.site == row.site, t.splices.c.redo_of == number, t.splices.c.status != "voided"
        )
    ).scalar_one()
    original = _splice(tx, row.site, number)
    if not left and original is not None and original["status"] == "rejected":
        change_splice(tx, row, number, open=True)


def splice_renumbered(tx: sa.Connection, row: Row, entry: e.SpliceRenumbered) -> None:
    s = t.splices
    tx.execute(s.update().where(s.c.site == row.site, s.c.number == entry.number).values(number=entry.to))
    tx.execute(s.update().where(s.c.site == row.site, s.c.redo_of == entry.number).values(redo_of=entry.to))
    for table in (t.damages, t.relayed, t.photo_splices):
        tx.execute(
            table.update().where(table.c.site == row.site, table.c.number == entry.number).values(number=entry.to)
        )
    h = t.splice_entries
    seqs = tx.execute(sa.select(h.c.seq).where(h.c.site == row.site, h.c.number == entry.number)).scalars().all()
    tx.execute(h.delete().where(h.c.site == row.site, h.c.number == entry.number))
    for seq in seqs:
        put(tx, h, {"site": row.site, "number": entry.to, "seq": seq}, {})
    note(tx, row, entry.to)


def verdict_given(tx: sa.Connection, row: Row, entry: e.VerdictGiven) -> None:
    status = {"accept": "accepted", "reject": "rejected", "pending": "pending"}[entry.verdict]
    change_splice(
        tx,
        row,
        entry.number,
        status=status,
        defect=entry.defect,
        value=entry.value,
        unit=entry.unit,
        verdict_by=row.person,
        judged_at=row.at,
        self_inspected=entry.self_inspected,
        open=status == "rejected",
    )
    note(tx, row, entry.number)
    tx.execute(t.relayed.delete().where(t.relayed.c.site == row.site, t.relayed.c.number == entry.number))
    if status == "accepted":
        _close_damage(tx, row, entry.number)


def verdict_relayed(tx: sa.Connection, row: Row, entry: e.VerdictRelayed) -> None:
    keys = {"site": row.site, "number": entry.number}
    put(tx, t.relayed, keys, {"verdict": entry.verdict, "person": row.person, "at": row.at})
    note(tx, row, entry.number)


def finding_noted(tx: sa.Connection, row: Row, entry: e.FindingNoted) -> None:
    """What was not looked at before is added; what stands changes only by somebody whose verdict would count."""
    was = _splice(tx, row.site, entry.number)
    if was is not None:
        stands = json.loads(was["findings"])
        told = {k: v for k in FINDINGS if (v := getattr(entry, k)) not in (None, {})}
        first, last = (stands, told) if entry.by_judge else (told, stands)
        by = row.person if entry.by_judge else stands.get("by", row.person)
        checks = {**first.get("checks", {}), **last.get("checks", {})}
        new = {**first, **last, "by": by, **({"checks": checks} if checks else {})}
        change_splice(tx, row, entry.number, findings=json.dumps(new, sort_keys=True))
    note(tx, row, entry.number)


def cut_out(tx: sa.Connection, row: Row, entry: e.CutOut) -> None:
    note(tx, row, entry.number)


def wish_kept(tx: sa.Connection, row: Row, entry: e.WishKept) -> None:
    note(tx, row, entry.number)


def _close_damage(tx: sa.Connection, row: Row, number: int) -> None:
    """Damage is closed when the damaged splice, or one that replaces it, is inspected again or redone."""
    if change(tx, t.damages, {"site": row.site, "number": number, "open": True}, {"open": False}):
        change_splice(tx, row, number, damaged=False)
