"""What entries about photos do to the photos and to the stories of the splices they show."""

from __future__ import annotations

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t
from sitebot.journal.projections.row import Row
from sitebot.journal.projections.splices import note


def photo_kept(tx: sa.Connection, row: Row, entry: e.PhotoKept) -> None:
    values = {"seq": row.seq, "at": row.at, "person": row.person}
    values |= {k: getattr(entry, k) for k in ("day", "mime", "size", "width", "height", "taken", "of", "place")}
    tx.execute(t.photos.insert().values(site=row.site, sha256=entry.sha256, **values))
    _shows(tx, row, entry.sha256, entry.numbers)


def photo_placed(tx: sa.Connection, row: Row, entry: e.PhotoPlaced) -> None:
    p = t.photos
    if entry.of:
        same = sa.and_(p.c.site == row.site, p.c.sha256 == entry.sha256)
        tx.execute(p.update().where(same).values(of=entry.of, place=entry.place))
    _shows(tx, row, entry.sha256, entry.numbers)


def _shows(tx: sa.Connection, row: Row, sha256: str, numbers: tuple[int, ...]) -> None:
    s = t.photo_splices
    same = sa.and_(s.c.site == row.site, s.c.sha256 == sha256)
    known = set(tx.execute(sa.select(s.c.number).where(same)).scalars())
    for number in dict.fromkeys(numbers):
        if number not in known:
            tx.execute(s.insert().values(site=row.site, sha256=sha256, number=number))
        note(tx, row, number)
