"""The site file: people, shift, places and plan, irons, profiles, limits; read whole, then turned into entries.

The file says how things are wanted now; entries say when that was loaded. Nothing is read here but the file named.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from sitebot.errors import DataError
from sitebot.hours import Clock, Days, Span, Zone
from sitebot.message import Language, Role
from sitebot.numbers import e164

Kind = Literal["butt", "flat_corner", "edge_corner", "corner", "tee", "cross", "wye", "unknown"]


class Strict(BaseModel):
    """A table of the site file: unknown keys are faults."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Shift(Strict):
    start: Clock = "07:00"
    end: Clock = "15:30"
    days: Days = "mon-fri"
    #: What can wait is not sent in them.
    breaks: tuple[Span, ...] = ()
    #: How long before the start the irons are plugged in [min].
    preheat_min: int = Field(default=60, ge=5, le=240)
    #: How far the warm-ups of past mornings may move it [min]; half and twice where nothing stands here.
    preheat_min_least: int | None = Field(default=None, ge=5, le=240)
    preheat_min_most: int | None = Field(default=None, ge=5, le=240)

    @model_validator(mode="after")
    def _bounds_hold_it(self) -> Self:
        least, most = self.preheat_bounds
        if not least <= self.preheat_min <= most:
            raise ValueError("preheat_min must lie between preheat_min_least and preheat_min_most")
        return self

    @property
    def preheat_bounds(self) -> tuple[int, int]:
        """The shortest and the longest preheat [min]."""
        least = self.preheat_min_least or max(5, self.preheat_min // 2)
        return least, self.preheat_min_most or min(240, self.preheat_min * 2)


class Crew(Strict):
    """A crew with hours of its own; what is not given is the site's."""

    name: str = Field(min_length=1, max_length=20, pattern=r"^[^/]+$")
    #: Names in the file, ids of the roster in the log.
    people: tuple[str, ...] = ()
    start: Clock | None = None
    end: Clock | None = None
    days: Days | None = None
    #: The irons it works with; where nothing stands here, all that no other crew has.
    irons: tuple[str, ...] = ()


class Reminding(Strict):
    """How reminders go about it, and which of them are wanted beside preheat, sample and unplug."""

    repeat_min: int = Field(default=20, ge=10, le=60)
    #: When somebody else hears, counted from the first [min].
    others_after_min: int = Field(default=40, ge=10, le=60)
    #: Welds with one cover before it is looked at.
    cover_welds: int = Field(default=40, ge=1)
    #: When only the shift's own reminders go out; "" for never.
    quiet: Span | Literal[""] = "21:00-05:00"
    cover: bool = True
    melt_test: bool = True
    pour: bool = True
    rework: bool = True
    pack: bool = True
    report: bool = True
    #: The seal of the log, each evening of work, to the superintendent.
    seal: bool = True


class Samples(Strict):
    """What asks for a new sample weld beside the start of a shift and a failed one; what rests on none is marked."""

    #: A power cut, an iron unplugged or out since the sample.
    after_power_cut: bool = True
    #: No weld and no sample for so long [min]; 0: never.
    after_idle_min: int = Field(default=120, ge=0, le=1440)
    #: Somebody welds who did not make the sample (where the sample named its people).
    after_people_change: bool = False
    after_cover: bool = False
    #: Witnessed samples that qualify a profile before its places count as complete; 0: no such hold.
    qualify: int = Field(default=0, ge=0, le=20)


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
    zone: Zone = "UTC"
    region: str = Field(default="US", pattern="^[A-Z]{2}$")
    units: Literal["inch", "metric"] = "inch"
    language: Language = "en"
    #: How measures are compared with limits: at the precision of the reading, or by one of the methods of ASTM E29 1.3.
    rounding: Literal["as read", "absolute", "rounding"] = "as read"
    field_fittings: Literal["allowed", "not allowed", "ask"] = "ask"
    emergency_number: str = "911"
    first_aider: str = ""
    address: str = ""
    shift: Shift = Shift()
    crews: tuple[Crew, ...] = ()
    #: Public holidays of a country or a part of it ("US-CO") are days off; needs sitebot[holidays].
    holidays: Annotated[str, Field(pattern=r"^([A-Z]{2}(-[A-Z0-9]{1,3})?)?$")] = ""
    days_off: tuple[date, ...] = ()
    #: A short brief to the lead in the morning and to the superintendent in the evening.
    briefs: bool = False
    reminding: Reminding = Reminding()
    samples: Samples = Samples()
    irons: tuple[str, ...] = ()
    profiles: tuple[Profile, ...] = ()
    limits: Mapping[str, OwnLimit] = Field(default_factory=dict)
    #: Where acts of weight (a release, voiding others' splices) wait for a code sent back to the number on the roster.
    #: Not Matrix, whose devices are signed.
    confirm_by_code: tuple[Literal["sms", "matrix"], ...] = ("sms",)
    procedure: Mapping[str, Procedure] = Field(default_factory=dict)

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)


class SiteFile(Site):
    people: tuple[PersonOfFile, ...] = ()
    places: tuple[PlaceOfFile, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _spoken(cls, raw: Any) -> Any:
        """Whose language the file does not say is written to in the site's."""
        if not isinstance(raw, Mapping) or not isinstance(raw.get("people"), list | tuple) or "language" not in raw:
            return raw
        spoken = {"language": raw["language"]}
        return {**raw, "people": [{**spoken, **p} if isinstance(p, Mapping) else p for p in raw["people"]]}


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
    faults += _phone_faults(site, where)
    if site.first_aider and site.first_aider not in [p.name for p in site.people]:
        faults.append(f"{where}: first_aider: nobody of people is called {site.first_aider!r}. Name somebody there.")
    for table, names in (("people", [p.name for p in site.people]), ("places", [p.name for p in site.places])):
        twice = sorted({n for n in names if names.count(n) > 1})
        faults += [f"{where}: {table}: {n!r} stands there twice. Give each its own name." for n in twice]
    faults += _crew_faults(site, where)
    if site.holidays and (fault := _holiday_fault(site.holidays)):
        faults.append(f"{where}: holidays: {fault}")
    if faults:
        raise DataError("\n".join(faults))
    return site


def _phone_faults(site: SiteFile, where: str) -> list[str]:
    """What is no number that can be texted, and a number that two people have."""
    faults, owners = [], dict[str, str]()
    for i, person in enumerate(site.people):
        at = f"{where}: people[{i}].phone {person.phone!r}"
        if not person.phone:
            continue
        if (number := e164(person.phone, site.region)) is None:
            faults.append(f"{at} is no phone number that can be texted. Write it whole, as +1 303 555 0110.")
        elif number in owners:
            faults.append(f"{at} is {owners[number]}'s number too. Give each his own: the number says who speaks.")
        owners.setdefault(number or "", person.name)
    return faults


def _crew_faults(site: SiteFile, where: str) -> list[str]:
    """People of a crew who are nobody, or on two crews."""
    names = {p.name for p in site.people}
    listed = [n for crew in site.crews for n in crew.people]
    faults = [f"{where}: crews: {n!r} is not among the people. Add him or mend the name." for n in {*listed} - names]
    twice = {n for n in listed if listed.count(n) > 1} | {c.name for c in site.crews if _crew_names(site, c.name) > 1}
    return sorted([*faults, *(f"{where}: crews: {n!r} stands there twice. Leave one." for n in twice)])


def _crew_names(site: Site, name: str) -> int:
    return sum(c.name == name for c in site.crews)


def _holiday_fault(code: str) -> str | None:
    try:
        from holidays import country_holidays

        country_holidays(code[:2], subdiv=code[3:] or None, years=2026)
    except ImportError:
        return "the calendar is not installed. Install sitebot[holidays], or take the key out."
    except NotImplementedError:
        return f"no calendar for {code!r}. Write a country or one of its parts, like US or US-CO."
    return None


def _fault(where: str, error: dict[str, Any]) -> str:
    path = "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in error["loc"]).lstrip(".")
    remedy = {
        "extra_forbidden": "No such key: take it out or mend its spelling.",
        "missing": "Add this key.",
    }.get(error["type"], "Mend the value.")
    return f"{where}: {path}: {error['msg']}. {remedy}"
