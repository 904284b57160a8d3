"""What has happened, in the past tense: the entries of the journal.

Plain frozen values that turn into JSON and back. How they are kept stands in journal/; who may cause them in respond/.
A field marked ``apart`` (names, addresses) is stored beside the chain and can be erased without touching it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

APART = {"apart": True}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One fact. Times are ISO texts in UTC, days ISO dates of the shift, people ids of the roster."""


# --- the site -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSet(Entry):
    """The site file as loaded, without names and addresses."""

    name: str
    zone: str
    settings: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonJoined(Entry):
    """Somebody came on the roster or changed there. Role "": only named in a report."""

    person: str
    role: str
    language: str = "en"
    name: str = field(default="", metadata=APART)
    addresses: tuple[str, ...] = field(default=(), metadata=APART)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonLeft(Entry):
    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LanguageChosen(Entry):
    person: str
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TextsStopped(Entry):
    """The person wants no more texts started by the assistant; ``stopped`` False: he wants them again."""

    person: str
    stopped: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacePlanned(Entry):
    """How many splices of each kind a place shall have."""

    place: str
    kinds: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class NameTaught(Entry):
    said: str
    meant: str


# --- splices --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SpliceReported(Entry):
    """A splice was reported as made. What nobody told stays None."""

    number: int
    day: str
    made_at: str
    place: str | None = None
    kind: str = "unknown"
    welders: tuple[str, ...] = ()
    iron: str | None = None
    temp_f: float | None = None
    profile: str | None = None
    lot: str | None = None
    redo_of: int | None = None
    #: Told after it was made: the time is as told, the entry itself says when.
    late: bool = False
    #: No passed sample of that iron stood in the log of the day.
    before_sample: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpliceCorrected(Entry):
    """Fields of a splice are other than reported: ``change`` holds the new values, ``was`` the old."""

    number: int
    change: Mapping[str, Any]
    was: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpliceVoided(Entry):
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SpliceRenumbered(Entry):
    number: int
    to: int


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictGiven(Entry):
    """accept or reject by somebody who may; ``corrects`` the verdict he gave before."""

    number: int
    verdict: str
    defect: str | None = None
    value: float | None = None
    unit: str | None = None
    self_inspected: bool = False
    corrects: str | None = None
    rule: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRelayed(Entry):
    """Somebody told another's verdict; the splice stays pending until that one confirms."""

    number: int
    verdict: str
    defect: str | None = None
    value: float | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOut(Entry):
    """A rejected splice was cut out; its redo is still to come."""

    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WishKept(Entry):
    """A change that the sender may not make himself; it waits for who may."""

    number: int
    change: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class DamageReported(Entry):
    place: str | None = None
    number: int | None = None
    what: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PourReleased(Entry):
    """Superintendent or inspector released a place; ``open_points`` were still open then."""

    place: str
    reason: str = ""
    open_points: tuple[str, ...] = ()
    at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRelayed(Entry):
    """Somebody who may not release told of a release by another."""

    place: str
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PourPlanned(Entry):
    place: str
    date: str
    at: str | None = None


# --- irons, samples, the day ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleReported(Entry):
    day: str
    made_at: str
    verdict: str
    iron: str | None = None
    defect: str | None = None
    temp_f: float | None = None
    welders: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class IronReported(Entry):
    """event: plugged_in, hot, reading, unplugged, cover_changed, fault. iron None: not named (all that it can mean)."""

    day: str
    made_at: str
    event: str
    iron: str | None = None
    temp_f: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlanned(Entry):
    """A change for that date only; start and end "HH:MM" local; snooze_until and remind_at ISO UTC."""

    date: str
    start: str | None = None
    end: str | None = None
    no_work: bool | None = None
    snooze_min: int | None = None
    snooze_until: str | None = None
    remind_at: str | None = None
    what: str | None = None
    #: A reminder that comes back: "day" (each day he works) or "mon" to "sun", and "HH:MM". Its date is "".
    every: str | None = None
    clock: str | None = None
    #: Reminders off for that date; of one that comes back: no more of it.
    quiet: bool = False
    #: Person ids it holds for; empty: everybody.
    who: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWished(Entry):
    """A crew member's word about everybody's day: the lead confirms it or not."""

    date: str
    change: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSet(Entry):
    day: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledged(Entry):
    """Somebody answered a reminder."""

    what: str
    day: str
    made_at: str
    iron: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminded(Entry):
    """A reminder went out. ``step`` counts repeats of the same one, from 0."""

    what: str
    day: str
    step: int
    to: tuple[str, ...]
    iron: str | None = None


KINDS: Mapping[str, type[Entry]] = {cls.__name__: cls for cls in Entry.__subclasses__()}


def body_of(entry: Entry) -> dict[str, Any]:
    """What goes into the chain: every field but those kept apart."""
    return {f.name: getattr(entry, f.name) for f in dataclasses.fields(entry) if not f.metadata.get("apart")}


def entry_of(kind: str, body: Mapping[str, Any]) -> Entry:
    """The entry of a stored kind and body; fields kept apart are empty."""
    cls = KINDS[kind]
    values = {k: tuple(v) if isinstance(v, list) else v for k, v in body.items()}
    return cls(**values)
