"""Splices, their counts and stories, read from the tables."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any, cast

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.asking import once
from sitebot.journal.prepared import Found, Prepared, b
from sitebot.journal.reader_people import People
from sitebot.record import (
    Count,
    Line,
    Relayed,
    Splice,
)

#: So many numbers in one statement.
AT_ONCE = 500


def _splice(row: Found) -> Splice:
    del row["site"], row["open"]
    row["welders"] = _people(row["welders"])
    row["findings"] = {} if row["findings"] == "{}" else json.loads(row["findings"])
    return Splice(**row)


@lru_cache(maxsize=1000)
def _people(ids: str) -> tuple[str, ...]:
    """A crew's few ways to stand together, read a thousand times."""
    return tuple(json.loads(ids))


def _stories(which: sa.ColumnElement[bool]) -> sa.Select[Any]:
    """Entries about splices with the words they came in, oldest first."""
    h, n, i = t.splice_entries, t.entries, t.inbox
    return (
        sa.select(n, i.c.text)
        .join(h, sa.and_(h.c.site == n.c.site, h.c.seq == n.c.seq))
        .outerjoin(i, sa.and_(i.c.site == n.c.site, i.c.id == n.c.cause))
        .where(h.c.site == b(h.c.site), which)
        .order_by(h.c.seq)  # of the small table: SQLite walks what it is to order by
    )


def _counts(rows: Sequence[Found]) -> list[Count]:
    return [Count(r["day"], r["place"], r["kind"], r["status"], r["n"]) for r in rows]


_S, _C = t.splices.c, t.counts.c
_STORY = Prepared(_stories(t.splice_entries.c.number == b(t.splice_entries.c.number)))
_HIGHEST = Prepared(sa.select(sa.func.max(_S.number)).where(_S.site == b(_S.site)))
_MADE = sa.select(sa.func.max(_S.made_at)).where(_S.site == b(_S.site), _S.day == b(_S.day), _S.status != "voided")
_LAST, _LAST_BY = Prepared(_MADE), Prepared(_MADE.where(_S.iron == b(_S.iron)))
_AT = sa.select(_S.number).where(_S.site == b(_S.site), _S.place == b(_S.place))
_PENDING = Prepared(_AT.where(_S.status == "pending").order_by(_S.number))
_UNSAMPLED = Prepared(_AT.where(sa.or_(_S.status == "pending", _S.status == "accepted"), _S.before_sample.is_(True)))
_DAYS = sa.select(t.counts).where(_C.site == b(_C.site), _C.day >= b(_C.day, "first"), _C.day <= b(_C.day, "last"))
_REJECTED = Prepared(
    sa.select(t.splices).where(
        _S.site == b(_S.site),
        _S.status == "rejected",
        _S.judged_at >= b(_S.judged_at, "first"),
        _S.judged_at <= b(_S.judged_at, "last"),
    )
)
_COUNTS, _COUNTS_AT = Prepared(_DAYS), Prepared(_DAYS.where(_C.place == b(_C.place)))
#: Before and after every day that is written; the sum of all days stands under "", before them.
ANY_DAY = ("0", "9999-99-99")


class Splices(People):
    """Questions about splices."""

    def _splices(self, **told: Any) -> list[Splice]:
        return [_splice(r) for r in self._of(t.splices, "number", **told)]

    @once
    def splice(self, number: int) -> Splice | None:
        return next(iter(self._splices(number=number)), None)

    @once
    def splices(
        self,
        *,
        place: str | None = None,
        day: str | None = None,
        status: str | None = None,
        welder: str | None = None,
    ) -> Sequence[Splice]:
        told = {"place": place, "day": day, "status": status}
        return self._splices(**told) if welder is None else self._of_welder(welder, **told)

    def _of_welder(self, welder: str, **told: str | None) -> list[Splice]:
        c = t.splices.c
        where = [c.site == self._site, *(c[k] == v for k, v in told.items() if v is not None)]
        query = sa.select(t.splices).where(*where, c.welders.contains(json.dumps(welder), autoescape=True))
        return [_splice(dict(r)) for r in self._tx.execute(query.order_by(c.number)).mappings()]

    @once
    def pending(self, place: str) -> Sequence[int]:
        return [r["number"] for r in self._ask(_PENDING, b_place=place)]

    @once
    def redos_of(self, number: int) -> Sequence[Splice]:
        return [s for s in self._splices(redo_of=number) if s.status != "voided"]

    @once
    def highest(self) -> int:
        return int(_HIGHEST.value(self._tx, b_site=self._site) or 0)

    @once
    def open_rework(self) -> Sequence[Splice]:
        return self._splices(open=True)

    def rejected_between(self, first: datetime, last: datetime) -> Sequence[Splice]:
        return [_splice(r) for r in self._ask(_REJECTED, b_first=first, b_last=last)]

    def last_made(self, day: str, iron: str | None) -> datetime | None:
        told = {"b_site": self._site, "b_day": day}
        found = _LAST_BY.value(self._tx, b_iron=iron, **told) if iron else _LAST.value(self._tx, **told)
        return cast("datetime | None", found)

    def unsampled(self, place: str) -> Sequence[int]:
        # Put in order here: SQLite walks what it is to order by.
        return sorted(r["number"] for r in self._ask(_UNSAMPLED, b_place=place))

    @once
    def counts(self, *, first: str | None = None, last: str | None = None, place: str | None = None) -> Sequence[Count]:
        days = {"b_first": first or ANY_DAY[0], "b_last": last or ANY_DAY[1]}
        return _counts(self._ask(_COUNTS, **days) if place is None else self._ask(_COUNTS_AT, b_place=place, **days))

    @once
    def totals(self, place: str | None = None) -> Sequence[Count]:
        return _counts(self._of(t.counts, day="", place=place))

    def _line(self, r: Found) -> Line:
        return Line(r["seq"], r["at"], r["kind"], self.named(json.loads(r["body"])), r["person"], r["text"] or "")

    @once
    def history(self, number: int) -> Sequence[Line]:
        return [self._line(r) for r in self._ask(_STORY, b_number=number)]

    def histories(self, numbers: Sequence[int]) -> Mapping[int, Sequence[Line]]:
        found: dict[int, list[Line]] = {number: [] for number in numbers}
        h = t.splice_entries.c.number
        for i in range(0, len(numbers), AT_ONCE):
            several = _stories(h.in_(numbers[i : i + AT_ONCE])).add_columns(h)
            for row in self._tx.execute(several, {"b_site": self._site}).mappings():
                found[row["number"]].append(self._line(dict(row)))
        return found

    @once
    def relayed(self) -> Sequence[Relayed]:
        rows = self._of(t.relayed, "number")
        return [Relayed(r["number"], r["verdict"], r["person"], r["at"]) for r in rows]
