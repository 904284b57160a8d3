"""The shift's own reminders: irons in, the melt test, the sample weld, irons off. Each ends when it is reported.

A named iron is settled by itself; a report that names none settles all. Who hears, and how often, is not decided here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from sitebot.record import IronEvent, IronState, Sample
from sitebot.reminders.lines import LOOK, Seen, Wanted, tagged, utc
from sitebot.reminders.warmup import DAYS_BACK, lead_time, middle_min
from sitebot.respond.dates import moment_of
from sitebot.respond.shifts import EVERYBODY, Shift, hours_of
from sitebot.site import Crew

#: A late first reminder (an outage) still makes sense for [h].
STILL_GOOD_H = 3
#: After a day was called off with an iron on, how soon to ask [min].
CALLED_OFF_MIN = 5
#: An iron plugged in after the end, or on a day off, is asked about after [min].
OVERTIME_MIN = 60
#: A hot iron is asked about by the hour until so long after the end [h]; after that it tops every reply.
HOT_H = 8
#: The melt test is left to the sample reminder from so long before the start [min].
NEAR_MIN = 10
ON_EVENTS = frozenset({"plugged_in", "hot", "reading"})
OFF_EVENTS = frozenset({"unplugged", "fault"})


@dataclass(frozen=True)
class Crewed:
    """One crew's shift, and what was reported in it."""

    seen: Seen
    crew: Crew
    shift: Shift

    @cached_property
    def irons(self) -> tuple[str, ...]:
        return self.seen.irons_of(self.crew)

    @cached_property
    def events(self) -> Sequence[IronEvent]:
        """What was reported of its irons, in the order of the times."""
        days = {self.shift.day} | ({self.shift.end.date()} if self.crew is not EVERYBODY else set())
        told = [e for d in sorted(days) for e in self.seen.events(d.isoformat())]
        return sorted((e for e in told if self.holds(e.at) and self.is_theirs(e.iron)), key=lambda e: e.at)

    def is_theirs(self, iron: str | None) -> bool:
        """Every iron is theirs where a site has no crews, or the crew no irons of its own."""
        return self.crew is EVERYBODY or iron in (None, "all", *self.irons) or not self.irons

    @property
    def opens(self) -> datetime:
        """What is reported from here on belongs to this shift; a start moved back does not shut it out."""
        return utc(min(self.shift.start, self._by_pattern), -self._before_min)

    @property
    def closes(self) -> datetime:
        """From here on it is the next day's."""
        return utc(self._by_pattern + timedelta(days=1), -self._before_min)

    @property
    def _by_pattern(self) -> datetime:
        return moment_of(hours_of(self.crew, self.seen.site)[0], self.shift.day, self.seen.local)

    @property
    def _before_min(self) -> int:
        return self.seen.site.shift.preheat_bounds[1] + 120

    def holds(self, at: datetime) -> bool:
        """Crews tell their reports apart by the time; a site without crews by the shift's day alone."""
        return self.crew is EVERYBODY or self.opens <= at <= utc(self.shift.end, 60 * STILL_GOOD_H)


def shift_lines(c: Crewed) -> Iterator[Wanted]:
    """The lines of one shift that nobody has settled."""
    if c.shift.works and not _stopped(c):
        yield from _preheat(c)
        yield from _melt(c)
        yield from _sample(c)
    yield from _unplug(c)


def _line(c: Crewed, kind: str, first: datetime, until: datetime, **more: object) -> Wanted:
    return Wanted(tagged(kind, c.shift), c.shift.day, first, until, crew=c.crew, **more)  # type: ignore[arg-type]


# --- irons in -------------------------------------------------------------------------------------------------------


def _preheat(c: Crewed) -> Iterator[Wanted]:
    earliest = utc(c.shift.start, -c.seen.site.shift.preheat_bounds[1])
    if c.seen.now < earliest:
        # What past mornings took is only asked for when it can matter.
        yield _line(c, LOOK, earliest, earliest)
        return
    if not (missing := [i for i in _not_in(c) if not _is_broken(c, i)]):
        return
    until = min(utc(c.shift.start) + timedelta(hours=STILL_GOOD_H), utc(c.shift.end))
    values: dict[str, object] = {"irons": [i for i in missing if i]}
    lead = lead_time(c.seen, c.shift.day, missing if missing != [""] else ())
    values |= {"start": c.shift.start, "minutes": [str(m) for m in lead.mornings], "iron": lead.iron}
    phrase = "reminders.preheat_learned" if lead.mornings else ""
    first = utc(c.shift.start, -lead.minutes)
    yield _line(c, "preheat", first, until, repeats=True, values=values, phrase=phrase)


def _not_in(c: Crewed) -> list[str]:
    """The irons nobody has reported in, by themselves or by anything that shows it; "" stands for any."""
    if "preheat" in _acknowledged(c) or _has_produced(c):
        return []
    told = [e.iron for e in c.events if e.event in ON_EVENTS | OFF_EVENTS] + [s.iron for s in _samples(c)]
    if any(iron in (None, "all") for iron in told):
        return []
    return [i for i in c.irons if i not in told] if c.irons else [] if told else [""]


def _is_broken(c: Crewed, iron: str) -> bool:
    """Was a fault the last that was heard of it?"""
    if not any(i.iron == iron and not i.on for i in c.seen.irons):
        return False
    for back in range(DAYS_BACK):
        day = (c.shift.day - timedelta(days=back)).isoformat()
        if last := [e for e in c.seen.events(day) if e.iron == iron]:
            return last[-1].event == "fault"
    return False


def _acknowledged(c: Crewed) -> dict[str, datetime]:
    return {what: at for what, at in c.seen.acknowledged(c.shift.day.isoformat()) if c.holds(at)}


def _has_produced(c: Crewed) -> bool:
    """Welds of the shift: then the irons are in, whoever forgot to say so."""
    day = c.shift.day.isoformat()
    if not c.seen.has_made(day):
        return False
    if c.crew is EVERYBODY:
        return True
    made = [s for s in c.seen.log.splices(day=day) if s.made_at and c.holds(s.made_at)]
    return any(set(s.welders) & set(c.crew.people) or (s.iron and s.iron in c.irons) for s in made)


def _in_use(c: Crewed) -> list[str]:
    """The irons on now by this shift's reports; "" is one that nobody named."""
    state: dict[str, bool] = {}
    for event in c.events:
        if event.event not in ON_EVENTS | OFF_EVENTS:
            continue
        names = [event.iron] if event.iron not in (None, "all") else list(state) or list(c.irons) or [""]
        state |= {str(name): event.event in ON_EVENTS for name in names}
    return [iron for iron, is_on in state.items() if is_on]


# --- melt test and sample -------------------------------------------------------------------------------------------


def _melt(c: Crewed) -> Iterator[Wanted]:
    if not c.seen.site.reminding.melt_test or _has_produced(c):
        return
    for iron in _in_use(c):
        mine = [e for e in c.events if e.iron in (iron or None, None, "all")]
        plugged = max((e.at for e in mine if e.event == "plugged_in"), default=None)
        if plugged is None or any(e.at >= plugged and e.event in ("hot", "reading") for e in mine):
            continue
        if any(s.at >= plugged for s in _samples(c) if _is_of(s, iron)):
            continue
        first = plugged + timedelta(minutes=round(middle_min(c.seen, c.shift.day, iron)))
        if first <= utc(c.shift.start, -NEAR_MIN):
            yield _line(c, "melt", first, utc(c.shift.start), iron=iron, values={"iron": iron})


def _sample(c: Crewed) -> Iterator[Wanted]:
    used = [i for i in _in_use(c) if i]
    missing = [i for i in used if not _has_passed(c, i)] if used else [""] if not _has_passed(c, "") else []
    if missing:
        # Without an iron in there is nothing to weld a sample with: said once, then the preheat line goes on.
        repeats = not _not_in(c) or bool(used)
        values = {"irons": [i for i in missing if i]}
        yield _line(c, "sample", utc(c.shift.start), utc(c.shift.end), repeats=repeats, values=values)


def _samples(c: Crewed) -> list[Sample]:
    samples = [s for s in c.seen.samples(c.shift.day.isoformat()) if c.holds(s.at)]
    return [s for s in samples if c.is_theirs(s.iron)]


def _is_of(sample: Sample, iron: str) -> bool:
    return not iron or sample.iron in (None, "all", iron)


def _has_passed(c: Crewed, iron: str) -> bool:
    """Did the last sample pass? Each iron needs its own."""
    samples = [s for s in _samples(c) if _is_of(s, iron)]
    return bool(samples) and samples[-1].verdict == "pass"


# --- irons off ------------------------------------------------------------------------------------------------------


def _unplug(c: Crewed) -> Iterator[Wanted]:
    known = [i for i in c.seen.irons if not i.iron or c.is_theirs(i.iron)]
    on = [i for i in known if i.on and i.since < c.closes and (i.since >= c.opens or _is_shown_on(c, i.iron))]
    if on:
        first = _asked_from(c, on)
        values = {"irons": [i.iron for i in on if i.iron]}
        until = first + timedelta(hours=HOT_H)
        phrase = "reminders.unplug_stopped" if first < utc(c.shift.end) else ""
        yield _line(c, "unplug", first, until, repeats=True, on_and_on=True, values=values, phrase=phrase)
    elif (c.shift.works or c.shift.called_off) and not _is_off(c, known):
        # Nobody said that one was in. Work shows it; without any the question is put once and left at that.
        worked = _has_produced(c) or bool(_samples(c))
        stopped = _stopped(c)
        if stopped and not worked:
            return
        first = utc(stopped, CALLED_OFF_MIN) if stopped else utc(c.shift.end)
        until = max(first, utc(c.shift.end)) + timedelta(hours=STILL_GOOD_H)
        phrase = "reminders.unplug_stopped" if stopped else ""
        yield _line(c, "unplug", first, until, repeats=worked or not known, values={"irons": []}, phrase=phrase)


def _is_shown_on(c: Crewed, iron: str) -> bool:
    """Nobody said off last night, and today it is spoken of as on."""
    return any(e.event in ON_EVENTS and e.iron in (iron or None, None, "all") for e in c.events)


def _asked_from(c: Crewed, on: Sequence[IronState]) -> datetime:
    """When an iron that is on is asked about: at the end, soon after a rain-out, after an hour of overtime."""
    since, end = max(i.since for i in on), utc(c.shift.end)
    if (stopped := _stopped(c)) and since <= stopped:
        return utc(stopped, CALLED_OFF_MIN)
    return end if c.shift.works and since <= end else max(end, since + timedelta(minutes=OVERTIME_MIN))


def _stopped(c: Crewed) -> datetime | None:
    """When the day was called off, or work stopped for the weather and nothing was made since."""
    if c.shift.called_off or c.shift.stopped is None:
        return c.shift.called_off
    made = c.seen.log.splices(day=c.shift.day.isoformat())
    return None if any(s.made_at and s.made_at > c.shift.stopped for s in made) else c.shift.stopped


def _is_off(c: Crewed, known: Sequence[IronState]) -> bool:
    """Somebody said in this shift that they are off."""
    said = [e for e in c.events if e.event in OFF_EVENTS]
    return bool(said and known) or "unplug" in _acknowledged(c)
