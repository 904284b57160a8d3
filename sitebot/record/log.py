"""The questions one may ask of the log. The journal answers them from its tables, respond/blank.py without any."""

from __future__ import annotations

import abc
from collections.abc import Mapping, Sequence
from datetime import datetime

from sitebot.message import Person
from sitebot.record.values import (
    Count,
    Damage,
    DayChange,
    IronEvent,
    IronState,
    KeptPhoto,
    Line,
    Place,
    PlannedPlace,
    Pour,
    Relayed,
    Reminder,
    Sample,
    Splice,
    Weather,
)


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
    def pending(self, place: str) -> Sequence[int]:
        """Numbers at a place that wait for a verdict."""

    @abc.abstractmethod
    def redos_of(self, number: int) -> Sequence[Splice]: ...
    @abc.abstractmethod
    def highest(self) -> int: ...
    @abc.abstractmethod
    def counts(
        self, *, first: str | None = None, last: str | None = None, place: str | None = None
    ) -> Sequence[Count]: ...
    @abc.abstractmethod
    def totals(self, place: str | None = None) -> Sequence[Count]:
        """Counts over all days; their day is ""."""

    @abc.abstractmethod
    def last_made(self, day: str, iron: str | None) -> datetime | None:
        """When the last splice of a day was made, with that iron where one is named."""

    @abc.abstractmethod
    def unsampled(self, place: str) -> Sequence[int]:
        """Splices of a place, made or accepted, that rest on no passed sample."""

    @abc.abstractmethod
    def head(self) -> tuple[int, str]: ...
    @abc.abstractmethod
    def open_rework(self) -> Sequence[Splice]: ...
    @abc.abstractmethod
    def rejected_between(self, first: datetime, last: datetime) -> Sequence[Splice]:
        """Splices that stand rejected by a verdict given then."""

    @abc.abstractmethod
    def history(self, number: int) -> Sequence[Line]: ...
    def histories(self, numbers: Sequence[int]) -> Mapping[int, Sequence[Line]]:
        """The histories of many splices at once."""
        return {number: self.history(number) for number in numbers}

    @abc.abstractmethod
    def photos(self, *, day: str | None = None) -> Sequence[KeptPhoto]: ...
    @abc.abstractmethod
    def relayed(self) -> Sequence[Relayed]: ...
    @abc.abstractmethod
    def people(self) -> Sequence[Person]: ...
    @abc.abstractmethod
    def name_of(self, person: str) -> str: ...
    @abc.abstractmethod
    def id_of(self, name: str) -> str | None: ...
    @abc.abstractmethod
    def asked_address(self, address: str) -> tuple[str, datetime] | None: ...
    @abc.abstractmethod
    def next_person(self) -> int: ...
    @abc.abstractmethod
    def stopped(self) -> frozenset[str]: ...
    @abc.abstractmethod
    def unreached(self) -> Mapping[str, str]:
        """Whom texts do not reach, and why."""

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
    def weather(self, day: str | None) -> Sequence[Weather]: ...
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
        for count in self.totals(name):
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
            pending=tuple(self.pending(name)),
            open_rework=tuple(s.number for s in self.open_rework() if s.place == name),
            damage=tuple(self.damages(name)),
        )
