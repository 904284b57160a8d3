"""The log as an answer may ask it, read from the journal's tables inside one transaction."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import tables as t
from sitebot.message import Person
from sitebot.record import (
    Count,
    Damage,
    DayChange,
    IronEvent,
    IronState,
    Line,
    Log,
    PlannedPlace,
    Pour,
    Relayed,
    Reminder,
    Sample,
    Splice,
)
from sitebot.site import Site

_SPLICE_COLUMNS = tuple(c for c in t.splices.c if c.name not in ("site", "open"))


def _on(column: sa.Column[Any], day: str | None) -> tuple[sa.ColumnElement[bool], ...]:
    """Of one day, or of all."""
    return () if day is None else (column == day,)


def _splice(row: sa.RowMapping) -> Splice:
    return Splice(**{**row, "welders": tuple(json.loads(row["welders"]))})


P = ParamSpec("P")
R = TypeVar("R")

#: Entries that change nothing but splices, and the questions whose answers they change.
ABOUT_SPLICES = (e.SpliceReported, e.SpliceCorrected, e.VerdictGiven, e.VerdictRelayed, e.CutOut, e.WishKept)
SPLICE_QUESTIONS = frozenset(
    {"_splices", "highest", "counts", "history", "relayed", "places_used", "damages"},
)


def once(method: Callable[Concatenate[SqlLog, P], R]) -> Callable[Concatenate[SqlLog, P], R]:
    """The same question twice in one transaction is asked of the database once, unless something was recorded."""
    name = method.__name__

    @wraps(method)
    def known(self: SqlLog, /, *args: P.args, **kwargs: P.kwargs) -> R:
        key = (name, args, tuple(kwargs.items()))
        if key not in self.known:
            self.known[key] = method(self, *args, **kwargs)
        found: Any = self.known[key]
        return list(found) if isinstance(found, list) else found  # type: ignore[return-value]

    return known


class SqlLog(Log):
    """Answers from the tables of one site. Good for one transaction."""

    def __init__(self, tx: sa.Connection, site: str) -> None:
        self._tx = tx
        self._site = site
        #: Answers of this transaction, by question.
        self.known: dict[tuple[Any, ...], Any] = {}

    def forget(self, entries: Iterable[e.Entry]) -> None:
        """Something was recorded: what it may have changed is asked anew."""
        if all(isinstance(entry, ABOUT_SPLICES) for entry in entries):
            self.known = {key: answer for key, answer in self.known.items() if key[0] not in SPLICE_QUESTIONS}
        else:
            self.known = {}

    def _rows(self, query: sa.Select[Any]) -> Sequence[sa.RowMapping]:
        return self._tx.execute(query).mappings().all()

    def _select(self, table: sa.Table, *where: sa.ColumnElement[bool]) -> sa.Select[Any]:
        return sa.select(table).where(table.c.site == self._site, *where)

    # --- splices ----------------------------------------------------------------------------------------------------

    def _splices(self, *where: sa.ColumnElement[bool]) -> list[Splice]:
        query = sa.select(*_SPLICE_COLUMNS).where(t.splices.c.site == self._site, *where)
        return [_splice(r) for r in self._rows(query.order_by(t.splices.c.number))]

    def splice(self, number: int) -> Splice | None:
        return next(iter(self._splices(t.splices.c.number == number)), None)

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

    def redos_of(self, number: int) -> Sequence[Splice]:
        return self._splices(t.splices.c.redo_of == number, t.splices.c.status != "voided")

    @once
    def highest(self) -> int:
        query = sa.select(sa.func.max(t.splices.c.number)).where(t.splices.c.site == self._site)
        return int(self._tx.execute(query).scalar() or 0)

    def open_rework(self) -> Sequence[Splice]:
        return self._splices(t.splices.c.open.is_(True))

    @once
    def counts(self, *, first: str | None = None, last: str | None = None, place: str | None = None) -> Sequence[Count]:
        c = t.counts.c
        where = []
        if first is not None:
            where.append(c.day >= first)
        if last is not None:
            where.append(c.day <= last)
        if place is not None:
            where.append(c.place == place)
        return [
            Count(r["day"], r["place"], r["kind"], r["status"], r["n"])
            for r in self._rows(self._select(t.counts, *where))
        ]

    @once
    def history(self, number: int) -> Sequence[Line]:
        h, n, i = t.splice_entries, t.entries, t.inbox
        query = (
            sa.select(n, i.c.text)
            .join(h, sa.and_(h.c.site == n.c.site, h.c.seq == n.c.seq))
            .outerjoin(i, sa.and_(i.c.site == n.c.site, i.c.id == n.c.cause))
            .where(h.c.site == self._site, h.c.number == number)
            .order_by(n.c.seq)
        )
        return [
            Line(r["seq"], r["at"], r["kind"], json.loads(r["body"]), r["person"], r["text"] or "")
            for r in self._rows(query)
        ]

    @once
    def relayed(self) -> Sequence[Relayed]:
        rows = self._rows(self._select(t.relayed).order_by(t.relayed.c.number))
        return [Relayed(r["number"], r["verdict"], r["person"], r["at"]) for r in rows]

    # --- people -----------------------------------------------------------------------------------------------------

    def people(self) -> Sequence[Person]:
        return [p for p in self._all_people() if p.role]

    @once
    def _all_people(self) -> list[Person]:
        a = t.addresses
        addresses: dict[str, list[str]] = {}
        for row in self._rows(self._select(a).order_by(a.c.rank)):
            addresses.setdefault(row["person"], []).append(row["address"])
        query = (
            sa.select(t.roster, t.people.c.name)
            .outerjoin(t.people, sa.and_(t.people.c.site == t.roster.c.site, t.people.c.person == t.roster.c.person))
            .where(t.roster.c.site == self._site, t.roster.c.active.is_(True))
        )
        people = [
            Person(
                r["person"], r["name"] or r["person"], r["role"], r["language"], tuple(addresses.get(r["person"], ()))
            )
            for r in self._rows(query)
        ]
        return sorted(people, key=lambda p: int(p.id[1:]))

    def name_of(self, person: str) -> str:
        known = {p.id: p.name for p in self._all_people()}
        if person in known:
            return known[person]
        query = sa.select(t.people.c.name).where(t.people.c.site == self._site, t.people.c.person == person)
        return str(self._tx.execute(query).scalar() or person)

    def id_of(self, name: str) -> str | None:
        folded = name.casefold()
        return next((p.id for p in self._all_people() if p.name.casefold() == folded), None)

    @once
    def next_person(self) -> int:
        rows = self._rows(sa.select(t.roster.c.person).where(t.roster.c.site == self._site))
        return 1 + max((int(r["person"][1:]) for r in rows), default=0)

    @once
    def stopped(self) -> frozenset[str]:
        return frozenset(r["person"] for r in self._rows(self._select(t.roster, t.roster.c.stopped.is_(True))))

    # --- places -----------------------------------------------------------------------------------------------------

    @once
    def settings(self) -> Mapping[str, Any] | None:
        row = self._tx.execute(sa.select(t.sites.c.settings).where(t.sites.c.site == self._site)).scalar()
        return json.loads(row) if row else None

    def site(self) -> Site:
        """The site as last loaded, its first-aider by name; one that was never loaded has its short name only."""
        settings = dict(self.settings() or {"name": self._site})
        if settings.get("first_aider"):
            settings["first_aider"] = self.name_of(settings["first_aider"])
        return Site.model_validate(settings)

    @once
    def plan(self) -> Sequence[PlannedPlace]:
        rows = self._rows(self._select(t.places).order_by(t.places.c.rank))
        return [PlannedPlace(r["place"], json.loads(r["kinds"])) for r in rows]

    @once
    def places_used(self) -> Sequence[str]:
        query = sa.select(t.counts.c.place).distinct().where(t.counts.c.site == self._site, t.counts.c.place != "")
        return sorted(r["place"] for r in self._rows(query))

    @once
    def nicknames(self) -> Mapping[str, str]:
        return {r["said"]: r["meant"] for r in self._rows(self._select(t.nicknames))}

    @once
    def damages(self, place: str | None = None) -> Sequence[Damage]:
        d = t.damages
        where = [d.c.open.is_(True)] + ([d.c.place == place] if place is not None else [])
        rows = self._rows(self._select(d, *where).order_by(d.c.seq))
        return [Damage(r["seq"], r["what"], r["place"], r["number"]) for r in rows]

    def releases(self, place: str | None = None) -> Sequence[Pour]:
        return self._pours(t.pours.c.what == "released", *([t.pours.c.place == place] if place is not None else []))

    def pours(self) -> Sequence[Pour]:
        return self._pours(t.pours.c.what == "planned")

    def _pours(self, *where: sa.ColumnElement[bool]) -> list[Pour]:
        return [
            Pour(
                r["place"], r["at"], r["date"], r["time"], r["person"], r["reason"], tuple(json.loads(r["open_points"]))
            )
            for r in self._rows(self._select(t.pours, *where).order_by(t.pours.c.seq))
        ]

    # --- irons, samples, the day ------------------------------------------------------------------------------------

    @once
    def samples(self, day: str | None) -> Sequence[Sample]:
        rows = self._rows(self._select(t.samples, *_on(t.samples.c.day, day)).order_by(t.samples.c.seq))
        return [Sample(r["at"], r["day"], r["verdict"], r["iron"], r["defect"], r["person"]) for r in rows]

    @once
    def iron_events(self, day: str | None) -> Sequence[IronEvent]:
        rows = self._rows(self._select(t.iron_events, *_on(t.iron_events.c.day, day)).order_by(t.iron_events.c.seq))
        return [IronEvent(r["at"], r["day"], r["event"], r["iron"], r["temp_f"]) for r in rows]

    @once
    def irons(self) -> Sequence[IronState]:
        rows = self._rows(self._select(t.irons).order_by(t.irons.c.iron))
        return [IronState(r["iron"], bool(r["is_on"]), r["since"], r["temp_f"], r["read_at"]) for r in rows]

    @once
    def day_changes(self, day: str | None) -> Sequence[DayChange]:
        c = t.day_changes
        return [
            DayChange(
                at=r["at"],
                date=r["date"],
                start=r["start"],
                end=r["end"],
                no_work=r["no_work"],
                snooze_min=r["snooze_min"],
                snooze_until=r["snooze_until"],
                remind_at=r["remind_at"],
                what=r["what"],
                every=r["every"],
                clock=r["clock"],
                quiet=bool(r["quiet"]),
                who=tuple(json.loads(r["who"])),
                by=r["person"],
            )
            for r in self._rows(self._select(c, *_on(c.c.date, day)).order_by(c.c.seq))
        ]

    @once
    def crew(self, day: str) -> tuple[str, ...] | None:
        found = self._rows(self._select(t.crews, t.crews.c.day == day))
        return tuple(json.loads(found[0]["people"])) if found else None

    @once
    def reminded(self, day: str) -> Sequence[Reminder]:
        rows = self._rows(self._select(t.reminded, t.reminded.c.day == day).order_by(t.reminded.c.seq))
        return [
            Reminder(r["what"], r["day"], r["step"], r["at"], tuple(json.loads(r["people"])), r["iron"]) for r in rows
        ]

    @once
    def acknowledgements(self, day: str | None) -> Sequence[tuple[str, datetime]]:
        c = t.acknowledgements
        return [(r["what"], r["at"]) for r in self._rows(self._select(c, *_on(c.c.day, day)).order_by(c.c.seq))]
