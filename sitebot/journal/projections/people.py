"""What entries about the site, its people and its plan do."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t
from sitebot.journal.projections.row import Row, put


def site_set(tx: sa.Connection, row: Row, entry: e.SiteSet) -> None:
    put(tx, t.sites, {"site": row.site}, {"name": entry.name, "settings": json.dumps(entry.settings, sort_keys=True)})


def person_joined(tx: sa.Connection, row: Row, entry: e.PersonJoined) -> None:
    r = t.roster
    values = {"role": entry.role, "language": entry.language, "active": True}
    same = sa.and_(r.c.site == row.site, r.c.person == entry.person)
    if not tx.execute(r.update().where(same).values(**values)).rowcount:
        tx.execute(r.insert().values(site=row.site, person=entry.person, stopped=False, unreached="", **values))


def person_left(tx: sa.Connection, row: Row, entry: e.PersonLeft) -> None:
    _person(tx, row, entry.person, active=False)


def person_erased(tx: sa.Connection, row: Row, entry: e.PersonErased) -> None:
    _person(tx, row, entry.person, active=False)


def language_chosen(tx: sa.Connection, row: Row, entry: e.LanguageChosen) -> None:
    _person(tx, row, entry.person, language=entry.language)


def texts_stopped(tx: sa.Connection, row: Row, entry: e.TextsStopped) -> None:
    _person(tx, row, entry.person, stopped=entry.stopped)


def reach_changed(tx: sa.Connection, row: Row, entry: e.ReachChanged) -> None:
    _person(tx, row, entry.person, unreached=entry.why)


def _person(tx: sa.Connection, row: Row, person: str, **values: Any) -> None:
    r = t.roster
    tx.execute(r.update().where(r.c.site == row.site, r.c.person == person).values(**values))


def place_planned(tx: sa.Connection, row: Row, entry: e.PlacePlanned) -> None:
    p = t.places
    kinds = json.dumps(entry.kinds, sort_keys=True)
    values = {"kinds": kinds} | ({"filed": kinds} if entry.by_file else {})
    same = sa.and_(p.c.site == row.site, p.c.place == entry.place)
    if not tx.execute(p.update().where(same).values(**values)).rowcount:
        tx.execute(
            p.insert().values(**{"site": row.site, "place": entry.place, "rank": row.seq, "filed": "{}", **values})
        )


def name_taught(tx: sa.Connection, row: Row, entry: e.NameTaught) -> None:
    put(tx, t.nicknames, {"site": row.site, "said": entry.said}, {"meant": entry.meant})
