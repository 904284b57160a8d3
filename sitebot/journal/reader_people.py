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
from sitebot.journal.prepared import Prepared, b
from sitebot.message import Person
from sitebot.record import (
    Damage,
    Filed,
    PlannedPlace,
    Pour,
)
from sitebot.site import Site


def _known_as(rows: sa.Table) -> sa.ColumnElement[bool]:
    """The row of the people table with the same person."""
    return sa.and_(t.people.c.site == rows.c.site, t.people.c.person == rows.c.person)


_R, _A, _C = t.roster.c, t.addresses.c, t.counts.c
_ADDRESSES = Prepared(
    sa.select(t.addresses).where(_A.site == b(_A.site), _A.until.is_(None)).order_by(_A.rank, _A.address)
)
_ROSTER = Prepared(
    sa.select(t.roster, t.people.c.name)
    .outerjoin(t.people, _known_as(t.roster))
    .where(_R.site == b(_R.site), _R.active.is_(True))
)
_FILED = Prepared(
    sa.select(t.people).join(t.roster, _known_as(t.roster)).where(_R.site == b(_R.site)).order_by(_R.active)
)
_PLACES_USED = Prepared(sa.select(_C.place).distinct().where(_C.site == b(_C.site), _C.day == "", _C.place != ""))


class People(Asking):
    """Questions about people and places."""

    def people(self) -> Sequence[Person]:
        return [p for p in self._all_people() if p.role]

    @once
    def _all_people(self) -> list[Person]:
        addresses: dict[str, list[str]] = {}
        for row in self._ask(_ADDRESSES):
            addresses.setdefault(row["person"], []).append(row["address"])
        people = [
            Person(
                r["person"], r["name"] or r["person"], r["role"], r["language"], tuple(addresses.get(r["person"], ()))
            )
            for r in self._ask(_ROSTER)
        ]
        return sorted(people, key=lambda p: int(p.id[1:]))

    def name_of(self, person: str) -> str:
        known = {p.id: p.name for p in self._all_people()}
        if person in known:
            return known[person]
        gone = self._of(t.people, person=person)
        return str(gone[0]["name"] or person) if gone else person

    def id_of(self, name: str) -> str | None:
        folded = name.casefold()
        return next((p.id for p in self._all_people() if p.name.casefold() == folded), None)

    @once
    def names(self) -> Mapping[str, str]:
        """Everybody's id by his name, those only named in reports and those gone too."""
        return {r["name"]: r["person"] for r in self._of(t.people) if r["name"]}

    def named(self, value: Any) -> Any:
        """Free text with names in the place of ids."""
        return named(value, self.name_of)

    @once
    def filed(self) -> Mapping[str, Filed]:
        """Everybody with a name, as the site file last gave him."""
        return {row["name"]: Filed(row["person"], json.loads(row["filed"] or "null")) for row in self._ask(_FILED)}

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
        return 1 + max((int(r["person"][1:]) for r in self._of(t.roster)), default=0)

    @once
    def stopped(self) -> frozenset[str]:
        return frozenset(r["person"] for r in self._of(t.roster, stopped=True))

    @once
    def unreached(self) -> Mapping[str, str]:
        return {r["person"]: r["unreached"] for r in self._of(t.roster, active=True) if r["unreached"]}

    @once
    def settings(self) -> Mapping[str, Any] | None:
        found = self._of(t.sites)
        return json.loads(found[0]["settings"]) if found else None

    @once
    def site(self) -> Site:
        """The site as last loaded, its first-aider by name; one that was never loaded has its short name only."""
        settings = dict(self.settings() or {"name": self._site})
        if settings.get("first_aider"):
            settings["first_aider"] = self.name_of(settings["first_aider"])
        return Site.model_validate(settings)

    @once
    def plan(self) -> Sequence[PlannedPlace]:
        rows = self._of(t.places, "rank")
        return [PlannedPlace(r["place"], json.loads(r["kinds"])) for r in rows]

    @once
    def filed_plan(self) -> Mapping[str, Mapping[str, int]]:
        """The plan as the site file last gave it."""
        return {r["place"]: json.loads(r["filed"]) for r in self._of(t.places)}

    @once
    def places_used(self) -> Sequence[str]:
        return sorted(r["place"] for r in self._ask(_PLACES_USED))

    @once
    def nicknames(self) -> Mapping[str, str]:
        return {self.named(r["said"]): self.named(r["meant"]) for r in self._of(t.nicknames)}

    @once
    def damages(self, place: str | None = None) -> Sequence[Damage]:
        rows = self._of(t.damages, "seq", open=True, place=place)
        return [Damage(r["seq"], self.named(r["what"]), r["place"], r["number"]) for r in rows]

    @once
    def releases(self, place: str | None = None) -> Sequence[Pour]:
        return self._pours("released", place)

    @once
    def pours(self) -> Sequence[Pour]:
        return self._pours("planned")

    def _pours(self, what: str, place: str | None = None) -> list[Pour]:
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
            for r in self._of(t.pours, "seq", what=what, place=place)
        ]
