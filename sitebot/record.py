"""The state of a site as the log shows it: splices, samples, irons, the day; and the questions one may ask of it.

Values and one abstract ``Log``. The journal answers it from its tables; ``sitebot read`` answers it without any.
"""

from __future__ import annotations

import abc
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from sitebot.message import Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Splice:
    """One splice as it stands now. None: nobody reported it."""

    number: int
    place: str | None = None
    kind: str = "unknown"
    welders: tuple[str, ...] = ()
    iron: str | None = None
    temp_f: float | None = None
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
    self_inspected: bool = False
    redo_of: int | None = None
    told_by: str = ""
    told_at: datetime | None = None
    late: bool = False
    before_sample: bool = False
    damaged: bool = False


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


@dataclass(frozen=True, slots=True)
class IronEvent:
    at: datetime
    day: str
    event: str
    iron: str | None = None
    temp_f: float | None = None


@dataclass(frozen=True, slots=True)
class IronState:
    """An iron as last heard of. ``since``: when it was plugged in or unplugged."""

    iron: str
    on: bool
    since: datetime
    temp_f: float | None = None
    read_at: datetime | None = None


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


class Log(abc.ABC):
    """What an answer may ask of the record."""

    #: False where there is no record behind it: then any number may be spoken of.
    is_kept: bool = True

    @abc.abstractmethod
    def splice(self, number: int) -> Splice | None: ...
    @abc.abstractmethod
    def splices(
        self,
        *,
        place: str | None = None,
        day: str | None = None,
        status: str | None = None,
        welder: str | None = None,
    ) -> Sequence[Splice]: ...
    @abc.abstractmethod
    def redos_of(self, number: int) -> Sequence[Splice]: ...
    @abc.abstractmethod
    def highest(self) -> int: ...
    @abc.abstractmethod
    def counts(
        self, *, first: str | None = None, last: str | None = None, place: str | None = None
    ) -> Sequence[Count]: ...
    @abc.abstractmethod
    def open_rework(self) -> Sequence[Splice]: ...
    @abc.abstractmethod
    def history(self, number: int) -> Sequence[Line]: ...
    @abc.abstractmethod
    def relayed(self) -> Sequence[Relayed]: ...
    @abc.abstractmethod
    def people(self) -> Sequence[Person]: ...
    @abc.abstractmethod
    def name_of(self, person: str) -> str: ...
    @abc.abstractmethod
    def id_of(self, name: str) -> str | None: ...
    @abc.abstractmethod
    def next_person(self) -> int: ...
    @abc.abstractmethod
    def stopped(self) -> frozenset[str]: ...
    @abc.abstractmethod
    def plan(self) -> Sequence[PlannedPlace]: ...
    @abc.abstractmethod
    def places_used(self) -> Sequence[str]: ...
    @abc.abstractmethod
    def nicknames(self) -> Mapping[str, str]: ...
    @abc.abstractmethod
    def damages(self, place: str | None = None) -> Sequence[Damage]: ...
    @abc.abstractmethod
    def releases(self, place: str | None = None) -> Sequence[Pour]: ...
    @abc.abstractmethod
    def pours(self) -> Sequence[Pour]: ...
    @abc.abstractmethod
    def samples(self, day: str | None) -> Sequence[Sample]: ...
    @abc.abstractmethod
    def iron_events(self, day: str | None) -> Sequence[IronEvent]: ...
    @abc.abstractmethod
    def irons(self) -> Sequence[IronState]: ...
    @abc.abstractmethod
    def day_changes(self, day: str | None) -> Sequence[DayChange]: ...
    @abc.abstractmethod
    def crew(self, day: str) -> tuple[str, ...] | None: ...
    @abc.abstractmethod
    def reminded(self, day: str) -> Sequence[Reminder]: ...
    @abc.abstractmethod
    def acknowledgements(self, day: str | None) -> Sequence[tuple[str, datetime]]: ...

    def acknowledged(self, day: str) -> Mapping[str, datetime]:
        """What was acknowledged on a day, and when last."""
        return dict(self.acknowledgements(day))

    def irons_on(self) -> Sequence[IronState]:
        """Irons reported plugged in and not yet off."""
        return [iron for iron in self.irons() if iron.on]

    def place(self, name: str) -> Place:
        """The place against its plan."""
        planned = next((p.kinds for p in self.plan() if p.name == name), {})
        accepted: dict[str, int] = {}
        made = 0
        for count in self.counts(place=name):
            if count.status != "voided":
                made += count.n
            if count.status == "accepted":
                accepted[count.kind] = accepted.get(count.kind, 0) + count.n
        missing = {k: n - accepted.get(k, 0) for k, n in planned.items() if accepted.get(k, 0) < n}
        return Place(
            name=name,
            planned=planned,
            accepted=accepted,
            made=made,
            missing=missing,
            pending=tuple(s.number for s in self.splices(place=name, status="pending")),
            open_rework=tuple(s.number for s in self.open_rework() if s.place == name),
            damage=tuple(self.damages(name)),
        )


def shift_day(moment: datetime, start: str, end: str) -> date:
    """The day a moment of local time belongs to: the day its shift starts, also after midnight.

    A shift that ends past midnight (end < start) keeps the hours before its end, and three more, for the day before.
    """
    if end < start and moment.strftime("%H:%M") < _later(end, 3):
        return date.fromordinal(moment.date().toordinal() - 1)
    return moment.date()


def _later(clock: str, hours: int) -> str:
    return f"{min(int(clock[:2]) + hours, 23):02d}{clock[2:]}"
