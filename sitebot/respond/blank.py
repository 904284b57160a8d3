"""The log of ``sitebot read``: no record behind it, so any number may be spoken of and nothing is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from sitebot import record as r
from sitebot.message import Person

#: The labelled messages take an inspector for granted (tests/messages/README.md, Who).
ROSTER = (
    Person("p1", "the lead", "lead"),
    Person("p2", "the inspector", "inspector"),
    Person("p3", "the superintendent", "superintendent"),
    Person("p4", "the crew", "crew"),
)


class BlankLog(r.Log):
    """Knows a roster of roles and nothing else; every splice spoken of is taken to exist."""

    is_kept = False

    def splice(self, number: int) -> r.Splice | None:
        return r.Splice(number=number)

    def splices(
        self,
        *,
        place: str | None = None,
        day: str | None = None,
        status: str | None = None,
        welder: str | None = None,
    ) -> Sequence[r.Splice]:
        return ()

    def pending(self, place: str) -> Sequence[int]:
        return ()

    def redos_of(self, number: int) -> Sequence[r.Splice]:
        return ()

    def highest(self) -> int:
        return 0

    def counts(
        self, *, first: str | None = None, last: str | None = None, place: str | None = None
    ) -> Sequence[r.Count]:
        return ()

    def totals(self, place: str | None = None) -> Sequence[r.Count]:
        return ()

    def rejected_between(self, first: datetime, last: datetime) -> Sequence[r.Splice]:
        return ()

    def last_made(self, day: str, iron: str | None) -> datetime | None:
        return None

    def unsampled(self, place: str) -> Sequence[int]:
        return ()

    def head(self) -> tuple[int, str]:
        return 0, "0" * 64

    def open_rework(self) -> Sequence[r.Splice]:
        return ()

    def history(self, number: int) -> Sequence[r.Line]:
        return ()

    def photos(self, *, day: str | None = None) -> Sequence[r.KeptPhoto]:
        return ()

    def relayed(self) -> Sequence[r.Relayed]:
        return ()

    def people(self) -> Sequence[Person]:
        return ROSTER

    def name_of(self, person: str) -> str:
        return next((p.name for p in ROSTER if p.id == person), person)

    def id_of(self, name: str) -> str | None:
        """A name is its own id here: nobody is on a roster."""
        return name

    def asked_address(self, address: str) -> tuple[str, datetime] | None:
        return None

    def next_person(self) -> int:
        return len(ROSTER) + 1

    def stopped(self) -> frozenset[str]:
        return frozenset()

    def unreached(self) -> Mapping[str, str]:
        return {}

    def plan(self) -> Sequence[r.PlannedPlace]:
        return ()

    def places_used(self) -> Sequence[str]:
        return ()

    def nicknames(self) -> Mapping[str, str]:
        return {}

    def damages(self, place: str | None = None) -> Sequence[r.Damage]:
        return ()

    def releases(self, place: str | None = None) -> Sequence[r.Pour]:
        return ()

    def pours(self) -> Sequence[r.Pour]:
        return ()

    def samples(self, day: str | None) -> Sequence[r.Sample]:
        return ()

    def weather(self, day: str | None) -> Sequence[r.Weather]:
        return ()

    def iron_events(self, day: str | None) -> Sequence[r.IronEvent]:
        return ()

    def irons(self) -> Sequence[r.IronState]:
        return ()

    def day_changes(self, day: str | None) -> Sequence[r.DayChange]:
        return ()

    def crew(self, day: str) -> tuple[str, ...] | None:
        return None

    def reminded(self, day: str) -> Sequence[r.Reminder]:
        return ()

    def acknowledgements(self, day: str | None) -> Sequence[tuple[str, datetime]]:
        return ()
