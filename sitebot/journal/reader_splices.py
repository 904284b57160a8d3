"""Splices, their counts and stories, read from the tables."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.asking import once
from sitebot.journal.reader_people import People
from sitebot.record import (
    Count,
    Line,
    Relayed,
    Splice,
)

#: So many numbers in one statement.
AT_ONCE = 500
_SPLICE_COLUMNS = tuple(c for c in t.splices.c if c.name not in ("site", "open"))


def _splice(row: sa.RowMapping) -> Splice:
    findings = row["findings"]
    told = {"welders": _people(row["welders"]), "findings": {} if findings == "{}" else json.loads(findings)}
    return Splice(**{**row, **told})


@lru_cache(maxsize=1000)
def _people(ids: str) -> tuple[str, ...]:
    """A crew's few ways to stand together, read a thousand times."""
    return tuple(json.loads(ids))


def _stories(site: str, which: sa.ColumnElement[bool]) -> sa.Select[Any]:
    """Entries about splices with the words they came in, oldest first."""
    h, n, i = t.splice_entries, t.entries, t.inbox
    return (
        sa.select(n, i.c.text)
        .join(h, sa.and_(h.c.site == n.c.site, h.c.seq == n.c.seq))
        .outerjoin(i, sa.and_(i.c.site == n.c.site, i.c.id == n.c.cause))
        .where(h.c.site == site, which)
        .order_by(h.c.seq)  # of the small table: SQLite walks what it is to order by
    )


class Splices(People):
    """Questions about splices."""

    def _splices(self, *where: sa.ColumnElement[bool]) -> list[Splice]:
        query = sa.select(*_SPLICE_COLUMNS).where(t.splices.c.site == self._site, *where)
        return [_splice(r) for r in self._rows(query.order_by(t.splices.c.number))]

    @once
    def splice(self, number: int) -> Splice | None:
        return next(iter(self._splices(t.splices.c.number == number)), None)

    @once
    def splices(
        self,
        *,
        place: str | None = None,
        day: str | None = None,
        status: str | None = None,
        welder: str | None = None,
    ) -> Sequence[Splice]:
        c = t.splices.c
        where = [c[k] == v for k, v in (("place", place), ("day", day), ("status", status)) if v is not None]
        if welder is not None:
            where.append(c.welders.contains(json.dumps(welder), autoescape=True))
        return self._splices(*where)

    @once
    def redos_of(self, number: int) -> Sequence[Splice]:
        return self._splices(t.splices.c.redo_of == number, t.splices.c.status != "voided")

    @once
    def highest(self) -> int:
        query = sa.select(sa.func.max(t.splices.c.number)).where(t.splices.c.site == self._site)
        return int(self._tx.execute(query).scalar() or 0)

    @once
    def open_rework(self) -> Sequence[Splice]:
        return self._splices(t.splices.c.open.is_(True))

    def last_made(self, day: str, iron: str | None) -> datetime | None:
        c = t.splices.c
        where = [c.site == self._site, c.day == day, c.status != "voided"] + ([c.iron == iron] if iron else [])
        return self._tx.execute(sa.select(sa.func.max(c.made_at)).where(*where)).scalar()

    def unsampled(self, place: str) -> Sequence[int]:
        c = t.splices.c
        where = (
            c.site == self._site,
            c.place == place,
            c.status.in_(("pending", "accepted")),
            c.before_sample.is_(True),
        )
        # Put in order here: SQLite walks what it is to order by.
        return sorted(self._tx.execute(sa.select(c.number).where(*where)).scalars())

    @once
    def counts(self, *, first: str | None = None, last: str | None = None, place: str | None = None) -> Sequence[Count]:
        c = t.counts.c
        where = [c.day >= first] if first else [c.day != ""]
        where += [c.day <= last] if last else []
        return self._counts(*where, *self._at(place))

    @once
    def totals(self, place: str | None = None) -> Sequence[Count]:
        return self._counts(t.counts.c.day == "", *self._at(place))

    def _at(self, place: str | None) -> tuple[sa.ColumnElement[bool], ...]:
        return () if place is None else (t.counts.c.place == place,)

    def _counts(self, *where: sa.ColumnElement[bool]) -> list[Count]:
        rows = self._rows(self._select(t.counts, *where))
        return [Count(r["day"], r["place"], r["kind"], r["status"], r["n"]) for r in rows]

    def _line(self, r: sa.RowMapping) -> Line:
        return Line(r["seq"], r["at"], r["kind"], self.named(json.loads(r["body"])), r["person"], r["text"] or "")

    @once
    def history(self, number: int) -> Sequence[Line]:
        return [self._line(r) for r in self._rows(_stories(self._site, t.splice_entries.c.number == number))]

    def histories(self, numbers: Sequence[int]) -> Mapping[int, Sequence[Line]]:
        found: dict[int, list[Line]] = {number: [] for number in numbers}
        h = t.splice_entries.c.number
        for i in range(0, len(numbers), AT_ONCE):
            for row in self._rows(_stories(self._site, h.in_(numbers[i : i + AT_ONCE])).add_columns(h)):
                found[row["number"]].append(self._line(row))
        return found

    @once
    def relayed(self) -> Sequence[Relayed]:
        rows = self._rows(self._select(t.relayed).order_by(t.relayed.c.number))
        return [Relayed(r["number"], r["verdict"], r["person"], r["at"]) for r in rows]
