"""What entries about irons, samples and the day do."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t
from sitebot.journal.projections.row import Row, put, when
from sitebot.record import WEATHER_PARTS


def sample_reported(tx: sa.Connection, row: Row, entry: e.SampleReported) -> None:
    tx.execute(
        t.samples.insert().values(
            site=row.site,
            seq=row.seq,
            at=when(entry.made_at),
            day=entry.day,
            iron=entry.iron,
            verdict=entry.verdict,
            defect=entry.defect,
            profile=entry.profile,
            welders=json.dumps(entry.welders),
            witnessed=entry.witnessed,
            witness=json.dumps(entry.witness),
            person=row.person,
        )
    )


def weather_told(tx: sa.Connection, row: Row, entry: e.WeatherTold) -> None:
    values = {name: getattr(entry, name) for name in ("day", *WEATHER_PARTS)}
    tx.execute(
        t.weather.insert().values(site=row.site, seq=row.seq, at=when(entry.made_at), person=row.person, **values)
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
            temp_by=entry.temp_by,
        )
    )
    for iron in _meant(tx, row, entry):
        _set_iron(tx, row, iron, entry, at)


def _meant(tx: sa.Connection, row: Row, entry: e.IronReported) -> list[str]:
    """The irons an event speaks of: the one named, else the only one known, else all that are on."""
    if entry.event in ("cover_changed", "power_cut", "power_back"):
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
    put(tx, t.irons, keys, values)


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
            snooze_until=when(entry.snooze_until),
            remind_at=when(entry.remind_at),
            what=entry.what,
            every=entry.every,
            clock=entry.clock,
            quiet=entry.quiet,
            who=json.dumps(entry.who),
            person=row.person,
        )
    )


def day_wished(tx: sa.Connection, row: Row, entry: e.DayWished) -> None:
    """A wish changes nothing until the lead says so himself."""


def crew_set(tx: sa.Connection, row: Row, entry: e.CrewSet) -> None:
    put(tx, t.crews, {"site": row.site, "day": entry.day}, {"people": json.dumps(entry.people)})


def acknowledged(tx: sa.Connection, row: Row, entry: e.Acknowledged) -> None:
    tx.execute(
        t.acknowledgements.insert().values(
            site=row.site, seq=row.seq, at=when(entry.made_at), day=entry.day, what=entry.what, iron=entry.iron
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
