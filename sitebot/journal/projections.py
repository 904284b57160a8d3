"""What each entry does to the tables derived from it. One function an entry; nothing else writes those tables.

A projection sees only the entry and the tables: never a clock, never the text, so that a replay gives the same tables.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t


@dataclass(frozen=True, slots=True)
class Row:
    """An entry's place in the journal."""

    site: str
    seq: int
    at: datetime
    person: str


def _when(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


def _put(tx: sa.Connection, table: sa.Table, keys: Mapping[str, Any], values: Mapping[str, Any]) -> None:
    """Update the row with these keys, or insert it."""
    same = sa.and_(*(table.c[k] == v for k, v in keys.items()))
    if not (values and tx.execute(table.update().where(same).values(**values)).rowcount):
        tx.execute(table.insert().values(**keys, **values))


# --- splices --------------------------------------------------------------------------------------------------------


def _splice(tx: sa.Connection, site: str, number: int) -> sa.RowMapping | None:
    found = tx.execute(sa.select(t.splices).where(t.splices.c.site == site, t.splices.c.number == number))
    return found.mappings().first()


def _count(tx: sa.Connection, splice: Mapping[str, Any] | sa.RowMapping, by: int) -> None:
    """Keep the counts in step, so that a tally costs the same on a log of a thousand and of a million."""
    keys = {
        "site": splice["site"],
        "day": splice["day"],
        "place": splice["place"] or "",
        "kind": splice["kind"],
        "status": splice["status"],
    }
    same = sa.and_(*(t.counts.c[k] == v for k, v in keys.items()))
    if not tx.execute(t.counts.update().where(same).values(n=t.counts.c.n + by)).rowcount:
        tx.execute(t.counts.insert().values(**keys, n=by))
    if by < 0:
        tx.execute(t.counts.delete().where(same, t.counts.c.n == 0))


def _note(tx: sa.Connection, row: Row, number: int) -> None:
    tx.execute(t.splice_entries.insert().values(site=row.site, number=number, seq=row.seq))


def _change(tx: sa.Connection, row: Row, number: int, **values: Any) -> None:
    was = _splice(tx, row.site, number)
    if was is None:
        return
    tx.execute(t.splices.update().where(t.splices.c.site == row.site, t.splices.c.number == number).values(**values))
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
        "profile": entry.profile,
        "lot": entry.lot,
        "made_at": _when(entry.made_at),
        "day": entry.day,
        "status": "pending",
        "self_inspected": False,
        "redo_of": entry.redo_of,
        "open": False,
        "told_by": row.person,
        "told_at": row.at,
        "late": entry.late,
        "before_sample": entry.before_sample,
        "damaged": False,
    }
    tx.execute(t.splices.insert().values(**values))
    _count(tx, values, +1)
    _note(tx, row, entry.number)
    if entry.redo_of is not None:
        _change(tx, row, entry.redo_of, open=False)
        _note(tx, row, entry.redo_of)
        _close_damage(tx, row, entry.redo_of)


def splice_corrected(tx: sa.Connection, row: Row, entry: e.SpliceCorrected) -> None:
    change = dict(entry.change)
    if "welders" in change:
        change["welders"] = json.dumps(change["welders"])
    if "made_at" in change:
        change["made_at"] = _when(change["made_at"])
    _change(tx, row, entry.number, **change)
    _note(tx, row, entry.number)


def splice_voided(tx: sa.Connection, row: Row, entry: e.SpliceVoided) -> None:
    was = _splice(tx, row.site, entry.number)
    _change(tx, row, entry.number, status="voided", open=False)
    _note(tx, row, entry.number)
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
        _change(tx, row, number, open=True)


def splice_renumbered(tx: sa.Connection, row: Row, entry: e.SpliceRenumbered) -> None:
    s = t.splices
    tx.execute(s.update().where(s.c.site == row.site, s.c.number == entry.number).values(number=entry.to))
    tx.execute(s.update().where(s.c.site == row.site, s.c.redo_of == entry.number).values(redo_of=entry.to))
    for table in (t.damages, t.relayed):
        tx.execute(
            table.update().where(table.c.site == row.site, table.c.number == entry.number).values(number=entry.to)
        )
    h = t.splice_entries
    seqs = tx.execute(sa.select(h.c.seq).where(h.c.site == row.site, h.c.number == entry.number)).scalars().all()
    tx.execute(h.delete().where(h.c.site == row.site, h.c.number == entry.number))
    for seq in seqs:
        _put(tx, h, {"site": row.site, "number": entry.to, "seq": seq}, {})
    _note(tx, row, entry.to)


def verdict_given(tx: sa.Connection, row: Row, entry: e.VerdictGiven) -> None:
    status = {"accept": "accepted", "reject": "rejected", "pending": "pending"}[entry.verdict]
    _change(
        tx,
        row,
        entry.number,
        status=status,
        defect=entry.defect,
        value=entry.value,
        unit=entry.unit,
        verdict_by=row.person,
        self_inspected=entry.self_inspected,
        open=status == "rejected",
    )
    _note(tx, row, entry.number)
    tx.execute(t.relayed.delete().where(t.relayed.c.site == row.site, t.relayed.c.number == entry.number))
    if status == "accepted":
        _close_damage(tx, row, entry.number)


def verdict_relayed(tx: sa.Connection, row: Row, entry: e.VerdictRelayed) -> None:
    keys = {"site": row.site, "number": entry.number}
    _put(tx, t.relayed, keys, {"verdict": entry.verdict, "person": row.person, "at": row.at})
    _note(tx, row, entry.number)


def cut_out(tx: sa.Connection, row: Row, entry: e.CutOut) -> None:
    _note(tx, row, entry.number)


def wish_kept(tx: sa.Connection, row: Row, entry: e.WishKept) -> None:
    _note(tx, row, entry.number)


# --- damage and pours -----------------------------------------------------------------------------------------------


def damage_reported(tx: sa.Connection, row: Row, entry: e.DamageReported) -> None:
    tx.execute(
        t.damages.insert().values(
            site=row.site, seq=row.seq, place=entry.place, number=entry.number, what=entry.what, open=True
        )
    )
    if entry.number is not None:
        _change(tx, row, entry.number, damaged=True)
        _note(tx, row, entry.number)


def _close_damage(tx: sa.Connection, row: Row, number: int) -> None:
    """Damage is closed when the damaged splice, or one that replaces it, is inspected again or redone."""
    d = t.damages
    done = tx.execute(
        d.update().where(d.c.site == row.site, d.c.number == number, d.c.open.is_(True)).values(open=False)
    )
    if done.rowcount:
        _change(tx, row, number, damaged=False)


def pour_released(tx: sa.Connection, row: Row, entry: e.PourReleased) -> None:
    _pour(tx, row, entry.place, "released", "", None, entry.reason, entry.open_points)


def release_relayed(tx: sa.Connection, row: Row, entry: e.ReleaseRelayed) -> None:
    _pour(tx, row, entry.place, "relayed", "", None, entry.by, ())


def pour_planned(tx: sa.Connection, row: Row, entry: e.PourPlanned) -> None:
    same = sa.and_(t.pours.c.site == row.site, t.pours.c.place == entry.place, t.pours.c.what == "planned")
    tx.execute(t.pours.delete().where(same))
    _pour(tx, row, entry.place, "planned", entry.date, entry.at, "", ())


def _pour(
    tx: sa.Connection,
    row: Row,
    place: str,
    what: str,
    date: str,
    time: str | None,
    reason: str,
    open_points: tuple[str, ...],
) -> None:
    tx.execute(
        t.pours.insert().values(
            site=row.site,
            seq=row.seq,
            at=row.at,
            place=place,
            what=what,
            date=date,
            time=time,
            reason=reason,
            open_points=json.dumps(open_points),
            person=row.person,
        )
    )


# --- site and people ------------------------------------------------------------------------------------------------


def site_set(tx: sa.Connection, row: Row, entry: e.SiteSet) -> None:
    _put(tx, t.sites, {"site": row.site}, {"name": entry.name, "settings": json.dumps(entry.settings, sort_keys=True)})


def person_joined(tx: sa.Connection, row: Row, entry: e.PersonJoined) -> None:
    keys = {"site": row.site, "person": entry.person}
    _put(tx, t.roster, keys, {"role": entry.role, "language": entry.language, "active": True, "stopped": False})


def person_left(tx: sa.Connection, row: Row, entry: e.PersonLeft) -> None:
    _person(tx, row, entry.person, active=False)


def language_chosen(tx: sa.Connection, row: Row, entry: e.LanguageChosen) -> None:
    _person(tx, row, entry.person, language=entry.language)


def texts_stopped(tx: sa.Connection, row: Row, entry: e.TextsStopped) -> None:
    _person(tx, row, entry.person, stopped=entry.stopped)


def _person(tx: sa.Connection, row: Row, person: str, **values: Any) -> None:
    r = t.roster
    tx.execute(r.update().where(r.c.site == row.site, r.c.person == person).values(**values))


def place_planned(tx: sa.Connection, row: Row, entry: e.PlacePlanned) -> None:
    known = tx.execute(
        sa.select(t.places.c.rank).where(t.places.c.site == row.site, t.places.c.place == entry.place)
    ).scalar()
    keys = {"site": row.site, "place": entry.place}
    _put(tx, t.places, keys, {"kinds": json.dumps(entry.kinds), "rank": known or row.seq})


def name_taught(tx: sa.Connection, row: Row, entry: e.NameTaught) -> None:
    _put(tx, t.nicknames, {"site": row.site, "said": entry.said}, {"meant": entry.meant})


# --- irons, samples, the day ----------------------------------------------------------------------------------------


def sample_reported(tx: sa.Connection, row: Row, entry: e.SampleReported) -> None:
    tx.execute(
        t.samples.insert().values(
            site=row.site,
            seq=row.seq,
            at=_when(entry.made_at),
            day=entry.day,
            iron=entry.iron,
            verdict=entry.verdict,
            defect=entry.defect,
            person=row.person,
        )
    )


def iron_reported(tx: sa.Connection, row: Row, entry: e.IronReported) -> None:
    at = datetime.fromisoformat(entry.made_at)
    tx.execute(
        t.iron_events.insert().values(
            site=row.site,
            seq=row.seq,
            at=at,
            day=entry.day,
            iron=entry.iron,
            event=entry.event,
            temp_f=entry.temp_f,
        )
    )
    for iron in _meant(tx, row, entry):
        _set_iron(tx, row, iron, entry, at)


def _meant(tx: sa.Connection, row: Row, entry: e.IronReported) -> list[str]:
    """The irons an event speaks of: the one named, else the only one known, else all that are on."""
    if entry.event == "cover_changed":
        return []
    rows = tx.execute(sa.select(t.irons.c.iron, t.irons.c.is_on).where(t.irons.c.site == row.site))
    known = [(str(iron), bool(is_on)) for iron, is_on in rows]
    on = [iron for iron, is_on in known if is_on]
    if entry.iron not in (None, "all"):
        iron = str(entry.iron)
        if on == [""] and entry.event != "plugged_in" and iron not in dict(known):
            # One iron was plugged in without a name and now gets its name.
            same = sa.and_(t.irons.c.site == row.site, t.irons.c.iron == "")
            tx.execute(t.irons.update().where(same).values(iron=iron))
        return [iron]
    if entry.event == "plugged_in":
        return [iron for iron, _ in known if iron] or [""]
    return on or ([known[0][0]] if len(known) == 1 else [""])


def _set_iron(tx: sa.Connection, row: Row, iron: str, entry: e.IronReported, at: datetime) -> None:
    keys = {"site": row.site, "iron": iron}
    same = sa.and_(t.irons.c.site == row.site, t.irons.c.iron == iron)
    was = tx.execute(sa.select(t.irons).where(same)).mappings().first()
    is_on = entry.event not in ("unplugged", "fault")
    values: dict[str, Any] = {"is_on": is_on}
    if was is None or bool(was["is_on"]) != is_on or entry.event == "plugged_in":
        values |= {"since": at, "temp_f": None, "read_at": None}
    if entry.temp_f is not None:
        values |= {"temp_f": entry.temp_f, "read_at": at}
    _put(tx, t.irons, keys, values)


def day_planned(tx: sa.Connection, row: Row, entry: e.DayPlanned) -> None:
    tx.execute(
        t.day_changes.insert().values(
            site=row.site,
            seq=row.seq,
            at=row.at,
            date=entry.date,
            start=entry.start,
            end=entry.end,
            no_work=entry.no_work,
            snooze_min=entry.snooze_min,
            snooze_until=_when(entry.snooze_until),
            remind_at=_when(entry.remind_at),
            what=entry.what,
            quiet=entry.quiet,
            who=json.dumps(entry.who),
            person=row.person,
        )
    )


def day_wished(tx: sa.Connection, row: Row, entry: e.DayWished) -> None:
    """A wish changes nothing until the lead says so himself."""


def crew_set(tx: sa.Connection, row: Row, entry: e.CrewSet) -> None:
    _put(tx, t.crews, {"site": row.site, "day": entry.day}, {"people": json.dumps(entry.people)})


def acknowledged(tx: sa.Connection, row: Row, entry: e.Acknowledged) -> None:
    tx.execute(
        t.acknowledgements.insert().values(
            site=row.site, seq=row.seq, at=_when(entry.made_at), day=entry.day, what=entry.what, iron=entry.iron
        )
    )


def reminded(tx: sa.Connection, row: Row, entry: e.Reminded) -> None:
    tx.execute(
        t.reminded.insert().values(
            site=row.site,
            seq=row.seq,
            at=row.at,
            day=entry.day,
            what=entry.what,
            iron=entry.iron,
            step=entry.step,
            people=json.dumps(entry.to),
        )
    )


PROJECTED: Mapping[type[e.Entry], Callable[[sa.Connection, Row, Any], None]] = {
    e.SiteSet: site_set,
    e.PersonJoined: person_joined,
    e.PersonLeft: person_left,
    e.LanguageChosen: language_chosen,
    e.TextsStopped: texts_stopped,
    e.PlacePlanned: place_planned,
    e.NameTaught: name_taught,
    e.SpliceReported: splice_reported,
    e.SpliceCorrected: splice_corrected,
    e.SpliceVoided: splice_voided,
    e.SpliceRenumbered: splice_renumbered,
    e.VerdictGiven: verdict_given,
    e.VerdictRelayed: verdict_relayed,
    e.CutOut: cut_out,
    e.WishKept: wish_kept,
    e.DamageReported: damage_reported,
    e.PourReleased: pour_released,
    e.ReleaseRelayed: release_relayed,
    e.PourPlanned: pour_planned,
    e.SampleReported: sample_reported,
    e.IronReported: iron_reported,
    e.DayPlanned: day_planned,
    e.DayWished: day_wished,
    e.CrewSet: crew_set,
    e.Acknowledged: acknowledged,
    e.Reminded: reminded,
}


def project(tx: sa.Connection, row: Row, entry: e.Entry) -> None:
    """Bring the derived tables up to date with one entry."""
    PROJECTED[type(entry)](tx, row, entry)
