"""Which reminders a site wants, when, and to whom. Pure but for the waker, which only wakes the program.

A reminder is a function of the log: nothing is armed and nothing has to be disarmed. ``due`` says what should go out
now, ``wakes`` when to look again; what went out is an entry, so that a restart repeats nothing and forgets nothing.

    lines       what a line of reminders is; one look at the log
    shift_lines, other_lines, warmup   which lines there are, and what ends them
    escalation  when a line goes out next, and who hears it
    rounds      the words, and one text a person
    waker       the scheduler
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from sitebot.record import Log
from sitebot.reminders.escalation import hearers, next_turn
from sitebot.reminders.lines import LOOK, Seen, Wanted, kind_of, utc
from sitebot.reminders.other_lines import daily_reports, other_lines, own_lines, pour_lines, seals
from sitebot.reminders.rounds import Due, items, rounds
from sitebot.reminders.shift_lines import Crewed, shift_lines
from sitebot.reminders.waker import Waker
from sitebot.respond.dates import moment_of
from sitebot.respond.desk import Desk
from sitebot.site import Site

#: What fell due by a change of the day just made is sent after [min].
AT_ONCE_MIN = 1
#: After the end of a shift, with all irons off, its last line is over [min].
OVER_AFTER_MIN = 10 * 60
#: When the next day is looked at, so that a site where nobody writes is looked at as well.
LOOK_AT = "00:05"


def wanted(site: Site, log: Log, now: datetime) -> Iterator[Wanted]:
    """The open lines of reminders of yesterday's, today's and tomorrow's shifts."""
    yield from _lines(Seen(site, log, now))


def _lines(seen: Seen) -> Iterator[Wanted]:
    today = seen.local.date()
    for offset in (-1, 0, 1):
        day = today + timedelta(days=offset)
        for crew, shift in seen.shifts(day):
            yield from _of_shift(Crewed(seen, crew, shift))
        yield from own_lines(seen, day)
        yield from daily_reports(seen, day)
        yield from seals(seen, day)
    yield from pour_lines(seen)


def _of_shift(c: Crewed) -> Iterator[Wanted]:
    """The lines of a shift; one that is long over or not yet near costs no question to the log."""
    if c.seen.now < c.opens:
        yield Wanted(f"{LOOK} {c.shift.crew}", c.shift.day, c.opens, c.opens)
    elif c.seen.now < utc(c.shift.end, OVER_AFTER_MIN) or any(i.on and i.since < c.closes for i in c.seen.irons):
        yield from shift_lines(c)
        yield from other_lines(c)


def due(site: Site, log: Log, now: datetime) -> list[Due]:
    """What should go out now: of each line at most one, to each person at most one text, however late it is."""
    seen = Seen(site, log, now)
    return rounds(items(_lines(seen), seen), seen)


def wakes(site: Site, log: Log, now: datetime) -> Mapping[str, datetime]:
    """When to look again, by line."""
    seen = Seen(site, log, now)
    out = {"look": _next_look(seen)}
    for line in _lines(seen):
        at = line.first if line.kind == LOOK else _at(line, seen)
        if at is not None and at > seen.now:
            out[f"{line.day} {line.what} {line.iron}".strip()[:80]] = at
    return out


def _next_look(seen: Seen) -> datetime:
    for day in (seen.local.date(), seen.local.date() + timedelta(days=1)):
        if (at := utc(moment_of(LOOK_AT, day, seen.local))) > seen.now:
            return at
    return seen.now + timedelta(days=1)


def _at(line: Wanted, seen: Seen) -> datetime | None:
    """A line's next time; what is overdue because the day was changed a moment ago goes out at once."""
    turn = next_turn(line, seen)
    if turn is None or turn.at > seen.now:
        return turn.at if turn else None
    return utc(seen.now, AT_ONCE_MIN) if hearers(line, turn, seen) and line.reason() else None


class OpenFor(Sequence[str]):
    """What reminders ask for and nobody has settled; looked up when first asked, since few messages are about it."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    @cached_property
    def found(self) -> tuple[str, ...]:
        return open_for(self._desk)

    def __len__(self) -> int:
        return len(self.found)

    def __getitem__(self, at: Any) -> Any:
        return self.found[at]


def open_for(desk: Desk) -> tuple[str, ...]:
    """What reminders of this shift day ask for and nobody has settled: those the person got first, the latest first."""
    seen = Seen(desk.site, desk.log, desk.now)
    if not seen.reminded(desk.day):
        return ()
    open_now = {line.what for line in _lines(seen) if line.first <= seen.now}
    sent = [r for r in seen.reminded(desk.day) if r.what in open_now or r.what.startswith(("own", "cover"))]
    sent.sort(key=lambda r: (desk.me in r.to, r.at), reverse=True)
    kinds = ("unplug" if r.what.startswith("own") else kind_of(r.what) for r in sent)
    return tuple(k for k in dict.fromkeys(kinds) if k in ("preheat", "melt", "sample", "unplug", "cover"))


__all__ = ["Due", "OpenFor", "Waker", "Wanted", "due", "open_for", "wakes", "wanted"]
