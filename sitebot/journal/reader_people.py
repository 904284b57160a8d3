"""People, the site, its places and pours, read from the tables."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from sitebot.entries import named
from sitebot.journal import tables as t
from sitebot.journal.asking import Asking, once
from sitebot.message import Person
from sitebot.record import (
    Damage,
    Filed,
    PlannedPlace,
    Pour,
)
from sitebot.site import Site


class People(Asking):
    """Questions about people and places."""

    def people(self) -> Sequence[Person]:
        return [p for p in self._all_people() if p.role]

    @once
    def _all_people(self) -> list[Person]:
        a = t.addresses
        addresses: dict[str, list[str]] = {}
        for row in self._rows(self._select(a, a.c.until.is_(None)).order_by(a.c.rank, a.c.address)):
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
    def names(self) -> Mapping[str, str]:
        """Everybody's id by his name, those only named in reports and those gone too."""
        rows = self._rows(sa.select(t.people.c.person, t.people.c.name).where(t.people.c.site == self._site))
        return {r["name"]: r["person"] for r in rows if r["name"]}

    def named(self, value: Any) -> Any:
        """Free text with names in the place of ids."""
        return named(value, self.name_of)

    @once
    def filed(self) -> Mapping[str, Filed]:
        """Everybody with a name, as the site file last gave him."""
        p, r = t.people, t.roster
        same = sa.and_(r.c.site == p.c.site, r.c.person == p.c.person)
        query = sa.select(p).join(r, same).where(p.c.site == self._site).order_by(r.c.active)
        return {row["name"]: Filed(row["person"], json.loads(row["filed"] or "null")) for row in self._rows(query)}

    @once
    def asked_address(self, address: str) -> tuple[str, datetime] | None:
        a = t.addresses
        row = self._tx.execute(
            sa.select(a.c.person, a.c.until).where(
                a.c.site == self._site, a.c.address == address, a.c.until.is_not(None)
            )
        ).first()
        return (row.person, row.until) if row else None

    @once
    def next_person(self) -> int:
        rows = self._rows(sa.select(t.roster.c.person).where(t.roster.c.site == self._site))
        return 1 + max((int(r["person"][1:]) for r in rows), default=0)

    @once
    def stopped(self) -> frozenset[str]:
        return frozenset(r["person"] for r in self._rows(self._select(t.roster, t.roster.c.stopped.is_(True))))

    @once
    def unreached(self) -> Mapping[str, str]:
        r = t.roster
        rows = self._rows(self._select(r, r.c.unreached != "", r.c.active.is_(True)))
        return {row["person"]: row["unreached"] for row in rows}

    @once
    def settings(self) -> Mapping[str, Any] | None:
        row = self._tx.execute(sa.select(t.sites.c.settings).where(t.sites.c.site == self._site)).scalar()
        return json.loads(row) if row else None

    @once
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
    def filed_plan(self) -> Mapping[str, Mapping[str, int]]:
        """The plan as the site file last gave it."""
        return {r["place"]: json.loads(r["filed"]) for r in self._rows(self._select(t.places))}

    @once
    def places_used(self) -> Sequence[str]:
        c = t.counts.c
        query = sa.select(c.place).distinct().where(c.site == self._site, c.day == "", c.place != "")
        return sorted(r["place"] for r in self._rows(query))

    @once
    def nicknames(self) -> Mapping[str, str]:
        return {self.named(r["said"]): self.named(r["meant"]) for r in self._rows(self._select(t.nicknames))}

    @once
    def damages(self, place: str | None = None) -> Sequence[Damage]:
        d = t.damages
        where = [d.c.open.is_(True)] + ([d.c.place == place] if place is not None else [])
        rows = self._rows(self._select(d, *where).order_by(d.c.seq))
        return [Damage(r["seq"], self.named(r["what"]), r["place"], r["number"]) for r in rows]

    @once
    def releases(self, place: str | None = None) -> Sequence[Pour]:
        return self._pours(t.pours.c.what == "released", *([t.pours.c.place == place] if place is not None else []))

    @once
    def pours(self) -> Sequence[Pour]:
        return self._pours(t.pours.c.what == "planned")

    def _pours(self, *where: sa.ColumnElement[bool]) -> list[Pour]:
        return [
            Pour(
                place=r["place"],
                at=r["at"],
                date=r["date"],
                time=r["time"],
                by=r["person"],
                reason=self.named(r["reason"]),
                open_points=tuple(json.loads(r["open_points"])),
            )
            for r in self._rows(self._select(t.pours, *where).order_by(t.pours.c.seq))
        ]
