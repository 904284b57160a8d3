"""What a line of reminders is, and one look at the log, each question of it asked once. Decides nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cached_property, lru_cache

from sitebot.message import Person
from sitebot.record import DayChange, IronEvent, IronState, Log, Reminder, Sample
from sitebot.respond.shifts import Shift, crews_of, shift_from
from sitebot.site import Crew, Site

#: Of the shift itself: no quiet hours, no break holds them.
OF_THE_SHIFT = frozenset({"preheat", "melt", "sample", "unplug", "own"})
#: Somebody must hear them: where the leads have declined, others do.
PRESSING = frozenset({"preheat", "unplug"})
MORNING = frozenset({"preheat", "melt", "sample", "brief_morning"})
EVENING = frozenset({"unplug", "pack", "rework", "report", "brief_evening", "seal"})
#: A line that only asks to be looked at again then.
LOOK = "look"


def _always() -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Wanted:
    """One line of reminders: the first at ``first``, then every so many minutes until settled. Times are UTC."""

    what: str
    day: date
    first: datetime
    until: datetime
    #: Repeats and escalates; any other goes out once.
    repeats: bool = False
    #: Goes on by the hour after the usual number of repeats.
    on_and_on: bool = False
    #: Person ids; empty: whoever such a line goes to.
    to: tuple[str, ...] = ()
    #: The iron it is about, where each iron has a line of its own.
    iron: str = ""
    #: What fills its phrases.
    values: Mapping[str, object] = field(default_factory=dict)
    #: The crew whose line it is.
    crew: Crew | None = None
    #: Asked only when it is due: is there any reason left?
    reason: Callable[[], bool] = _always
    #: Key of its phrase where that is not its kind.
    phrase: str = ""
    #: A file that goes with it, as an answer would name it.
    picture: Mapping[str, object] | None = None

    @property
    def kind(self) -> str:
        """preheat, sample ... without the crew or the place."""
        return kind_of(self.what)


@lru_cache(maxsize=1000)
def kind_of(what: str) -> str:
    """The kind of a line as it is stored: "preheat/night" is of the kind preheat."""
    return what.split("/")[0].split(" ")[0]


def own_name(change: DayChange) -> str:
    """The name of a reminder somebody asked for: two asked for in one second, or by two people, are two."""
    at = change.clock or (f"{change.remind_at.timestamp():.0f}" if change.remind_at else "")
    return " ".join(("own", f"{change.at.timestamp():.0f}", at, *change.who[:1]))


def tagged(kind: str, shift: Shift) -> str:
    """The name of a shift's line: crews of one site do not settle each other's."""
    return f"{kind}/{shift.crew}" if shift.crew else kind


class Seen:
    """One look at a site's log at one moment."""

    def __init__(self, site: Site, log: Log, now: datetime) -> None:
        self.site = site
        self.log = log
        self.now = now.astimezone(UTC)
        self.local = now.astimezone(site.tz)
        self._kept: dict[tuple[str, str], Sequence[object]] = {}
        self._shifts: dict[date, list[tuple[Crew, Shift]]] = {}

    def _once(self, name: str, day: str, ask: Callable[[str], Sequence[object]]) -> Sequence[object]:
        if (name, day) not in self._kept:
            self._kept[name, day] = ask(day)
        return self._kept[name, day]

    def changes(self, day: str) -> Sequence[DayChange]:
        """Of a date; of "": those that hold for every date."""
        return self._once("changes", day, self.log.day_changes)  # type: ignore[return-value]

    def events(self, day: str) -> Sequence[IronEvent]:
        return self._once("events", day, self.log.iron_events)  # type: ignore[return-value]

    def samples(self, day: str) -> Sequence[Sample]:
        return self._once("samples", day, self.log.samples)  # type: ignore[return-value]

    def reminded(self, day: str) -> Sequence[Reminder]:
        return self._once("reminded", day, self.log.reminded)  # type: ignore[return-value]

    def acknowledged(self, day: str) -> Sequence[tuple[str, datetime]]:
        return self._once("acknowledged", day, self.log.acknowledgements)  # type: ignore[return-value]

    def has_made(self, day: str) -> bool:
        """Was any splice made that day?"""
        counts = self._once("counts", day, lambda d: self.log.counts(first=d, last=d))
        return any(c.n for c in counts if c.status != "voided")  # type: ignore[attr-defined]

    @cached_property
    def people(self) -> Sequence[Person]:
        return self.log.people()

    @cached_property
    def stopped(self) -> frozenset[str]:
        return self.log.stopped()

    @cached_property
    def out_of_reach(self) -> frozenset[str]:
        """Who wants no texts, and whom they do not reach: reminders go round them."""
        return self.stopped | self.log.unreached().keys()

    @cached_property
    def irons(self) -> Sequence[IronState]:
        return self.log.irons()

    def shifts(self, day: date) -> list[tuple[Crew, Shift]]:
        """Of each crew the shift of a date."""
        if day not in self._shifts:
            changes = self.changes(day.isoformat())
            self._shifts[day] = [(c, shift_from(day, self.site, c, changes, self.local)) for c in crews_of(self.site)]
        return self._shifts[day]

    def crew_on(self, day: str) -> frozenset[str]:
        """Who was set down for a date; empty: nobody said."""
        return frozenset(self._once("crew", day, lambda d: self.log.crew(d) or ()))  # type: ignore[arg-type]

    def irons_of(self, crew: Crew) -> tuple[str, ...]:
        """The named irons a crew works with."""
        taken = {i for c in self.site.crews if c is not crew for i in c.irons}
        return crew.irons or tuple(i for i in self.site.irons if i not in taken)


def utc(moment: datetime, minutes: float = 0) -> datetime:
    """So many minutes after a local moment, in elapsed time: clock changes neither stretch nor shrink it."""
    return moment.astimezone(UTC) + timedelta(minutes=minutes)
