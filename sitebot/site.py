"""The site file: people, shift, places and plan, irons, profiles, limits; read whole, then turned into entries.

The file says how things are wanted now; entries say when that was loaded. Nothing is read here but the file named.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import phonenumbers
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from sitebot.entries import Entry, PersonJoined, PersonLeft, PlacePlanned, SiteSet
from sitebot.errors import DataError
from sitebot.message import Language, Person, Role

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
Kind = Literal["butt", "flat_corner", "edge_corner", "corner", "tee", "cross", "wye", "unknown"]


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ValueError("no such time zone; write one like America/Denver") from error
    return name


def _clock(text: str) -> str:
    if not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text):
        raise ValueError('not a time; write it as "07:00"')
    return text


def _days(text: str) -> str:
    days_of(text)
    return text


def days_of(text: str) -> frozenset[int]:
    """Weekdays (Monday 0) of "mon-fri" or "mon,wed,sat"; ValueError where a day is no day."""
    days: set[int] = set()
    for part in filter(None, re.split(r"[,\s]+", text.lower())):
        first, _, last = part.partition("-")
        try:
            a = WEEKDAYS.index(first[:3])
            b = WEEKDAYS.index((last or first)[:3])
        except ValueError as error:
            raise ValueError('not days of the week; write them as "mon-fri" or "mon,tue,sat"') from error
        days |= {(a + i) % 7 for i in range((b - a) % 7 + 1)}
    return frozenset(days)


Clock = Annotated[str, AfterValidator(_clock)]


class Strict(BaseModel):
    """A table of the site file: unknown keys are faults."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Shift(Strict):
    start: Clock = "07:00"
    end: Clock = "15:30"
    days: Annotated[str, AfterValidator(_days)] = "mon-fri"
    #: How long before the start the irons are plugged in [min].
    preheat_min: int = Field(default=60, ge=5, le=240)


class Reminding(Strict):
    """How reminders go about it."""

    repeat_min: int = Field(default=20, ge=10, le=60)
    #: When somebody else hears, counted from the first [min].
    others_after_min: int = Field(default=40, ge=10, le=60)
    #: Welds with one cover before it is looked at.
    cover_welds: int = Field(default=40, ge=1)


class PersonOfFile(Strict):
    name: str = Field(min_length=1, max_length=60)
    role: Role
    language: Language = "en"
    phone: str | None = None
    matrix: str | None = Field(default=None, pattern=r"^@[^:\s]+:\S+$")


class PlaceOfFile(Strict):
    name: str = Field(min_length=1, max_length=60)
    kinds: dict[Kind, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)


class Profile(Strict):
    name: str
    width_in: float | None = Field(default=None, gt=0)
    thickness_in: float | None = Field(default=None, gt=0)
    bulb: bool = True


class OwnLimit(Strict):
    """A limit of the site's papers in place of the rule's."""

    max: str | None = None
    min: str | None = None
    source: str


class Procedure(Strict):
    """A value of the approved procedure; it replaces common practice in every answer."""

    value: str
    source: str


class Site(Strict):
    """A site as its file gives it, less names and addresses of people."""

    name: str = Field(min_length=1, max_length=60)
    zone: Annotated[str, AfterValidator(_zone)] = "UTC"
    region: str = Field(default="US", pattern="^[A-Z]{2}$")
    units: Literal["inch", "metric"] = "inch"
    language: Language = "en"
    field_fittings: Literal["allowed", "not allowed", "ask"] = "ask"
    emergency_number: str = "911"
    first_aider: str = ""
    address: str = ""
    shift: Shift = Shift()
    reminding: Reminding = Reminding()
    irons: tuple[str, ...] = ()
    profiles: tuple[Profile, ...] = ()
    limits: Mapping[str, OwnLimit] = Field(default_factory=dict)
    procedure: Mapping[str, Procedure] = Field(default_factory=dict)

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)


class SiteFile(Site):
    people: tuple[PersonOfFile, ...] = ()
    places: tuple[PlaceOfFile, ...] = ()


def read_site_file(path: Path) -> SiteFile:
    """The site file at ``path``; DataError lists every fault with its key and what to do."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise DataError(f"{path}: cannot be read ({error.strerror}). Name an existing site file.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DataError(f"{path}: not a TOML file: {error}. Mend the line named.") from error
    return site_of(raw, str(path))


def site_of(raw: Mapping[str, Any], where: str) -> SiteFile:
    """The site of a parsed file; all faults at once."""
    faults: list[str] = []
    try:
        site = SiteFile.model_validate(raw)
    except ValidationError as error:
        faults = [_fault(where, dict(e)) for e in error.errors()]
        raise DataError("\n".join(faults)) from error
    for i, person in enumerate(site.people):
        if person.phone and not phone_number(person.phone, site.region):
            faults.append(
                f"{where}: people[{i}].phone {person.phone!r} is no phone number. Write it as +1 303 555 0110."
            )
    for table, names in (("people", [p.name for p in site.people]), ("places", [p.name for p in site.places])):
        twice = sorted({n for n in names if names.count(n) > 1})
        faults += [f"{where}: {table}: {n!r} stands there twice. Give each its own name." for n in twice]
    if faults:
        raise DataError("\n".join(faults))
    return site


def _fault(where: str, error: dict[str, Any]) -> str:
    path = "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in error["loc"]).lstrip(".")
    remedy = {
        "extra_forbidden": "No such key: take it out or mend its spelling.",
        "missing": "Add this key.",
    }.get(error["type"], "Mend the value.")
    return f"{where}: {path}: {error['msg']}. {remedy}"


def phone_number(text: str, region: str) -> str | None:
    """E.164 of a number as people write it, or None. Possible is enough: 555 numbers are used in examples."""
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        return None
    if not phonenumbers.is_possible_number(number):
        return None
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def addresses_of(person: PersonOfFile, region: str) -> tuple[str, ...]:
    phone = phone_number(person.phone, region) if person.phone else None
    return tuple(a for a in (person.matrix, phone) if a)


def settings_of(site: SiteFile) -> dict[str, Any]:
    """What SiteSet keeps: everything but people and places; the first-aider's name is apart."""
    return site.model_dump(mode="json", exclude={"people", "places", "first_aider"}, exclude_defaults=False)


def entries_for(
    site: SiteFile, old: Mapping[str, Any] | None, roster: Sequence[Person], plan: Mapping[str, Mapping[str, int]]
) -> list[Entry]:
    """The entries that bring the log from what it holds to what the file says; none where nothing changed."""
    entries: list[Entry] = []
    settings = settings_of(site)
    if settings != old:
        entries.append(SiteSet(name=site.name, zone=site.zone, settings=settings))
    known = {p.name: p for p in roster}
    number = max((int(p.id[1:]) for p in roster if p.id[1:].isdigit()), default=0)
    for person in site.people:
        addresses = addresses_of(person, site.region)
        was = known.pop(person.name, None)
        if was and (was.role, was.language, was.addresses) == (person.role, person.language, addresses):
            continue
        number += was is None
        entries.append(
            PersonJoined(
                person=was.id if was else f"p{number}",
                role=person.role,
                language=person.language,
                name=person.name,
                addresses=addresses,
            )
        )
    entries += [PersonLeft(person=p.id) for p in known.values() if p.role]
    entries += [
        PlacePlanned(place=p.name, kinds={str(k): n for k, n in p.kinds.items()})
        for p in site.places
        if dict(plan.get(p.name, {})) != p.kinds
    ]
    return entries
