"""What the log holds, as values: splices, samples, irons, weather, the day. No question stands here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Splice:
    """One splice as it stands now. None: nobody reported it."""

    number: int
    place: str | None = None
    kind: str = "unknown"
    welders: tuple[str, ...] = ()
    iron: str | None = None
    temp_f: float | None = None
    #: How that heat was measured: infrared, contact, pyrometer, dial, stick.
    temp_by: str | None = None
    profile: str | None = None
    lot: str | None = None
    made_at: datetime | None = None
    day: str = ""
    #: pending, accepted, rejected, voided
    status: str = "pending"
    defect: str | None = None
    value: float | None = None
    unit: str | None = None
    verdict_by: str | None = None
    #: When the last verdict was given.
    judged_at: datetime | None = None
    self_inspected: bool = False
    redo_of: int | None = None
    told_by: str = ""
    told_at: datetime | None = None
    late: bool = False
    before_sample: bool = False
    damaged: bool = False
    #: What look, bend and laboratory showed: visual, bend, checks, cooled_min, lab_no, lab_percent, by.
    findings: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Count:
    """How many splices of one day, place, kind and status."""

    day: str
    place: str
    kind: str
    status: str
    n: int


@dataclass(frozen=True, slots=True)
class Sample:
    at: datetime
    day: str
    verdict: str
    iron: str | None = None
    defect: str | None = None
    by: str = ""
    welders: tuple[str, ...] = ()
    profile: str | None = None
    #: Somebody who gives verdicts watched it, as he told himself.
    witnessed: bool = False
    #: Who is said to have watched.
    witness: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """Weather and shelter as told at a time; what was not spoken of is None."""

    at: datetime
    day: str
    air_f: float | None = None
    humidity: float | None = None
    rain: str | None = None
    wind: str | None = None
    wind_mph: float | None = None
    shelter: str | None = None
    by: str = ""


@dataclass(frozen=True, slots=True)
class IronEvent:
    at: datetime
    day: str
    event: str
    iron: str | None = None
    temp_f: float | None = None
    temp_by: str | None = None


@dataclass(frozen=True, slots=True)
class IronState:
    """An iron as last heard of. ``since``: when it was plugged in or unplugged."""

    iron: str
    on: bool
    since: datetime
    temp_f: float | None = None
    read_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Filed:
    """Somebody as the site file last gave him: role, language, addresses; None where it does not list him."""

    person: str
    filed: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class PlannedPlace:
    name: str
    kinds: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Damage:
    seq: int
    what: str
    place: str | None = None
    number: int | None = None


@dataclass(frozen=True, slots=True)
class DayChange:
    """One change of one date, as planned by chat."""

    at: datetime
    date: str
    start: str | None = None
    end: str | None = None
    no_work: bool | None = None
    snooze_min: int | None = None
    snooze_until: datetime | None = None
    remind_at: datetime | None = None
    what: str | None = None
    #: Of a reminder that comes back, whose date is "".
    every: str | None = None
    clock: str | None = None
    quiet: bool = False
    who: tuple[str, ...] = ()
    by: str = ""


@dataclass(frozen=True, slots=True)
class Pour:
    """A planned or released pour of a place."""

    place: str
    at: datetime
    date: str = ""
    time: str | None = None
    by: str = ""
    reason: str = ""
    open_points: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reminder:
    """A reminder that went out: what, for which shift day, which time."""

    what: str
    day: str
    step: int
    at: datetime
    to: tuple[str, ...]
    iron: str | None = None


@dataclass(frozen=True, slots=True)
class Relayed:
    number: int
    verdict: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPhoto:
    """A photo and what it shows. Neither a splice nor anything else: nobody has said yet."""

    sha256: str
    mime: str
    size: int
    width: int
    height: int
    at: datetime
    day: str
    by: str
    #: The camera's own time, unchecked.
    taken: str | None = None
    numbers: tuple[int, ...] = ()
    #: sample, cover, place, none
    of: str = ""
    place: str | None = None

    @property
    def waits(self) -> bool:
        return not (self.numbers or self.of)


@dataclass(frozen=True, slots=True)
class Line:
    """One entry as history shows it."""

    seq: int
    at: datetime
    kind: str
    body: Mapping[str, Any]
    person: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Place:
    """A place against its plan. Planned kinds with accepted numbers, and what stands open."""

    name: str
    planned: Mapping[str, int]
    accepted: Mapping[str, int]
    made: int
    pending: tuple[int, ...] = ()
    open_rework: tuple[int, ...] = ()
    damage: tuple[Damage, ...] = ()
    missing: Mapping[str, int] = field(default_factory=dict)

    @property
    def is_ready(self) -> bool:
        """Has a plan, is complete, and nothing there is pending, open or damaged (design.md, Inspection)."""
        return bool(self.planned) and not (self.missing or self.pending or self.open_rework or self.damage)
