"""What entries about damage and pours do to the places."""

from __future__ import annotations

import json

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t
from sitebot.journal.projections.row import Row
from sitebot.journal.projections.splices import change_splice, note


def damage_reported(tx: sa.Connection, row: Row, entry: e.DamageReported) -> None:
    tx.execute(
        t.damages.insert().values(
            site=row.site, seq=row.seq, place=entry.place, number=entry.number, what=entry.what, open=True
        )
    )
    if entry.number is not None:
        change_splice(tx, row, entry.number, damaged=True)
        note(tx, row, entry.number)


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
