"""Entries about splices, their verdicts and findings, damage and pours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sitebot.entries.base import FREE, Entry


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
    #: How that heat was measured: infrared, contact, pyrometer, dial, stick.
    temp_by: str | None = None
    profile: str | None = None
    lot: str | None = None
    redo_of: int | None = None
    #: Told after it was made: the time is as told, the entry itself says when.
    late: bool = False
    #: It rests on no passed sample; why: none, failed, cold, cover, idle, people.
    before_sample: bool = False
    no_sample: str | None = None


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
class FindingNoted(Entry):
    """What a look, a bend or the laboratory showed of a splice; ok or bad. A verdict is another entry."""

    number: int
    visual: str | None = None
    bend: str | None = None
    #: By item: bulb, ribs, alignment, bond, bubbles, porosity, char, bead, overlap.
    checks: Mapping[str, str] = field(default_factory=dict)
    cooled_min: float | None = None
    lab_no: str | None = None
    lab_percent: float | None = None
    #: Told by somebody whose verdict would count: it takes the place of what stood there.
    by_judge: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOut(Entry):
    """A rejected splice was cut out; its redo is still to come."""

    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WishKept(Entry):
    """A change that the sender may not make himself; it waits for who may."""

    number: int
    change: Mapping[str, Any] = field(metadata=FREE)


@dataclass(frozen=True, slots=True, kw_only=True)
class DamageReported(Entry):
    place: str | None = None
    number: int | None = None
    what: str = field(default="", metadata=FREE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PourReleased(Entry):
    """Superintendent or inspector released a place; ``open_points`` were still open then."""

    place: str
    reason: str = field(default="", metadata=FREE)
    open_points: tuple[str, ...] = ()
    at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRelayed(Entry):
    """Somebody who may not release told of a release by another."""

    place: str
    by: str = field(default="", metadata=FREE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PourPlanned(Entry):
    place: str
    date: str
    at: str | None = None
