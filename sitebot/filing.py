"""From the site file to entries: what brings the log from what it holds to what the file says. Reads no file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitebot.entries import Entry, PersonJoined, PersonLeft, PlacePlanned, SiteSet
from sitebot.message import Person
from sitebot.numbers import e164
from sitebot.record import Filed
from sitebot.site import PersonOfFile, SiteFile


def addresses_of(person: PersonOfFile, region: str) -> tuple[str, ...]:
    phone = e164(person.phone, region) if person.phone else None
    return tuple(a for a in (person.matrix, phone) if a)


def settings_of(site: SiteFile, ids: Mapping[str, str]) -> dict[str, Any]:
    """What SiteSet keeps: everything but people and places; the first-aider and crews by their ids."""
    settings = site.model_dump(mode="json", exclude={"people", "places", "first_aider"}, exclude_defaults=False)
    settings["first_aider"] = ids.get(site.first_aider, "")
    settings["crews"] = [{**c, "people": [ids[n] for n in c["people"]]} for c in settings["crews"]]
    return settings


def _ids_of(site: SiteFile, filed: Mapping[str, Filed], fresh: int) -> dict[str, str]:
    """Everybody's id, those the log has not seen yet included; an id is never used again."""
    ids = {name: f.person for name, f in filed.items()}
    new = [p.name for p in site.people if p.name not in ids]
    return ids | {name: f"p{i}" for i, name in enumerate(new, start=fresh)}


def entries_for(
    site: SiteFile,
    old: Mapping[str, Any] | None,
    roster: Sequence[Person],
    plan: Mapping[str, Mapping[str, int]],
    filed: Mapping[str, Filed] | None = None,
    fresh: int = 1,
) -> list[Entry]:
    """The entries that bring the log from what it holds to what the file says; none where nothing changed.

    ``plan`` and ``filed``: places and people as the file last gave them. What chat changed since stays until the file
    itself changes.
    """
    entries: list[Entry] = []
    filed = filed or {}
    ids = _ids_of(site, filed, fresh)
    settings = settings_of(site, ids)
    if settings != old:
        entries.append(SiteSet(name=site.name, zone=site.zone, settings=settings))
    known = {p.name: p for p in roster}
    for person in site.people:
        was = filed.get(person.name)
        told = {"role": person.role, "language": person.language, "addresses": list(addresses_of(person, site.region))}
        if was is None or was.filed != told:
            entries.append(_filed(person.name, ids[person.name], told, was, known.get(person.name)))
    listed = {p.name for p in site.people}
    gone = [f for name, f in filed.items() if f.filed is not None and name not in listed]
    entries += [PersonLeft(person=f.person, by_file=True) for f in gone]
    entries += [
        PlacePlanned(place=p.name, kinds={str(k): n for k, n in p.kinds.items()}, by_file=True)
        for p in site.places
        if dict(plan.get(p.name, {})) != p.kinds
    ]
    return entries


def _filed(name: str, ident: str, told: Mapping[str, Any], was: Filed | None, now: Person | None) -> PersonJoined:
    """Somebody of the file: what the file changed since it was last loaded, and the rest as it stands."""
    before = (was.filed if was else None) or {}
    stands = {"role": now.role, "language": now.language, "addresses": now.addresses} if now else {}
    new = {k: v if before.get(k) != v or k not in stands else stands[k] for k, v in told.items()}
    return PersonJoined(
        person=ident,
        role=str(new["role"]),
        language=str(new["language"]),
        name=name,
        addresses=tuple(new["addresses"]),
        filed=told,
    )
