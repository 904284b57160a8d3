"""Which reminders a site wants, when, and to whom. Pure but for the scheduler at the end, which only wakes the program.

A reminder is a function of the log: nothing is armed and nothing has to be disarmed. ``due`` says what should go out
now, ``wakes`` when to look again; what went out is an entry, so that a restart repeats nothing and forgets nothing.
Nothing else in the program uses APScheduler.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from apscheduler.schedulers.asyncio import AsyncIOScheduler
from apscheduler.triggers.date import DateTrigger

from sitebot.entries import Reminded
from sitebot.message import Person, Say
from sitebot.record import Log
from sitebot.respond.day import Shift, shift_of
from sitebot.respond.desk import Notice
from sitebot.site import Site

#: Repeats of one reminder before it rests.
MOST_STEPS = 9
#: Never two of the same within [min].
APART_MIN = 10
#: A late first reminder (an outage) still makes sense for [h].
STILL_GOOD_H = 3
#: After a day was called off with an iron on, how soon to ask [min].
CALLED_OFF_MIN = 5


@dataclass(frozen=True, slots=True)
class Wanted:
    """One line of reminders: the first at ``first``, then every so many minutes until settled."""

    what: str
    day: date
    first: datetime
    until: datetime
    #: Repeats and escalates; a personal reminder goes out once.
    repeats: bool = True
    to: tuple[str, ...] = ()
    text: str = ""


@dataclass(frozen=True, slots=True)
class Due:
    """A reminder that should go out now."""

    entry: Reminded
    notice: Notice


def wanted(site: Site, log: Log, now: datetime) -> Iterator[Wanted]:
    """The open lines of reminders of yesterday's, today's and tomorrow's shift."""
    today = now.astimezone(site.tz).date()
    for offset in (-1, 0, 1):
        day = today + timedelta(days=offset)
        shift = shift_of(day, site, log, now.astimezone(site.tz))
        yield from _of_shift(shift, site, log)
        yield from _personal(day, log)


def _of_shift(shift: Shift, site: Site, log: Log) -> Iterator[Wanted]:
    day = shift.day.isoformat()
    if shift.works:
        lead_time = timedelta(minutes=site.shift.preheat_min)
        if not _is_on_reported(log, day):
            yield Wanted("preheat", shift.day, shift.start - lead_time, shift.end)
        if not _is_sample_passed(log, day):
            yield Wanted("sample", shift.day, shift.start, shift.end)
        if not _is_off_reported(log, day):
            yield Wanted("unplug", shift.day, shift.end, shift.end + timedelta(hours=STILL_GOOD_H))
    elif shift.called_off and log.irons_on() and not _is_off_reported(log, day):
        first = shift.called_off + timedelta(minutes=CALLED_OFF_MIN)
        yield Wanted("unplug", shift.day, first, first + timedelta(hours=STILL_GOOD_H))


def _personal(day: date, log: Log) -> Iterator[Wanted]:
    for change in log.day_changes(day.isoformat()):
        if change.remind_at:
            what = "unplug" if change.what == "unplug" else "own"
            if what == "unplug" and _is_off_reported(log, day.isoformat(), since=change.at):
                continue
            name = f"own {change.at.isoformat(timespec='seconds')}"
            until = change.remind_at + timedelta(hours=STILL_GOOD_H)
            yield Wanted(name, day, change.remind_at, until, False, change.who, change.what or "")


def _is_on_reported(log: Log, day: str) -> bool:
    """Somebody said that an iron is in, or something else shows that it is."""
    events = {e.event for e in log.iron_events(day)}
    return bool(
        events & {"plugged_in", "hot", "reading", "unplugged"}
        or "preheat" in log.acknowledged(day)
        or log.irons_on()
        or log.samples(day)
        or log.counts(first=day, last=day)
    )


def _is_sample_passed(log: Log, day: str) -> bool:
    samples = log.samples(day)
    return bool(samples) and samples[-1].verdict == "pass"


def _is_off_reported(log: Log, day: str, since: datetime | None = None) -> bool:
    """All irons are known to be off since they were last on."""
    known = log.irons()
    if known:
        return not any(i.on for i in known)
    acked = log.acknowledged(day).get("unplug")
    return acked is not None and (since is None or acked >= since)


def step_times(line: Wanted, site: Site, log: Log) -> list[tuple[int, datetime]]:
    """When each repeat of a line falls due, snoozes heeded; what went out is left out."""
    sent = [r for r in log.reminded(line.day.isoformat()) if r.what == line.what]
    step = len(sent)
    every = timedelta(minutes=site.reminding.repeat_min)
    if not line.repeats:
        return [] if sent else [(0, line.first)]
    start = max(line.first, sent[-1].at + every) if sent else line.first
    if snooze := _snoozed_until(line, log):
        start = max(start, snooze)
    times = [(step + i, start + i * every) for i in range(MOST_STEPS - step)]
    return [(s, t) for s, t in times if t <= line.until]


def _snoozed_until(line: Wanted, log: Log) -> datetime | None:
    snoozes = [c.snooze_until for c in log.day_changes(line.day.isoformat()) if c.snooze_until]
    return max(snoozes, default=None)


def due(site: Site, log: Log, now: datetime) -> list[Due]:
    """What should go out now: of each line at most one, however late the program wakes."""
    found = []
    for line in wanted(site, log, now):
        times = [(s, t) for s, t in step_times(line, site, log) if t <= now]
        if times and now <= line.until:
            found.append(_due(line, times[0][0], site, log, now))
    return [d for d in found if d.notice.to]


def wakes(site: Site, log: Log, now: datetime) -> Mapping[str, datetime]:
    """When to look again, by line."""
    out = {}
    for line in wanted(site, log, now):
        ahead = [t for _, t in step_times(line, site, log) if t > now]
        if ahead:
            out[f"{line.day} {line.what}"] = ahead[0]
    return out


def _due(line: Wanted, step: int, site: Site, log: Log, now: datetime) -> Due:
    people = _hearers(line, step, site, log, now)
    to = tuple(p.id for p in people)
    entry = Reminded(what=line.what, day=line.day.isoformat(), step=step, to=to)
    return Due(entry, Notice(to, (_say(line, step, site, now),), "reminder"))


def _hearers(line: Wanted, step: int, site: Site, log: Log, now: datetime) -> Sequence[Person]:
    """The leads; after a while somebody else as well; never who asked to be left alone, but then somebody does hear."""
    people = log.people()
    if not line.repeats:
        return [p for p in people if p.id in line.to]
    muted = {w for c in log.day_changes(line.day.isoformat()) if c.quiet for w in c.who} | log.stopped()
    leads = [p for p in people if p.role == "lead" and p.id not in muted]
    others = [p for p in people if p.role in ("crew", "superintendent") and p.id not in log.stopped()]
    if not leads:
        return others or [p for p in people if p.role == "lead"]
    waited = _first_sent(line, log)
    late = waited is not None and now - waited >= timedelta(minutes=site.reminding.others_after_min)
    return [*leads, *others] if late else leads


def _first_sent(line: Wanted, log: Log) -> datetime | None:
    sent = [r for r in log.reminded(line.day.isoformat()) if r.what == line.what]
    return sent[0].at if sent else None


def _say(line: Wanted, step: int, site: Site, now: datetime) -> Say:
    values = {"time": now.astimezone(site.tz), "text": line.text}
    if line.what.startswith("own"):
        known = line.text in ("unplug", "preheat", "sample")
        return Say(f"reminders.{line.text}" if known else "reminders.own", values)
    return Say(f"reminders.{line.what}" if step == 0 else f"reminders.{line.what}_again", values)


class Waker:
    """Wakes the program when the next reminder of any site falls due; the rows say what, APScheduler says when.

    Its one job is set anew after every tick and whenever ``arm`` is called. ``clock`` is the program's time, so that
    tests may move it.
    """

    def __init__(
        self,
        next_wake: Callable[[], tuple[str, datetime] | None],
        tick: Callable[[str, datetime], object],
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._next_wake = next_wake
        self._tick = tick
        self._clock = clock
        self._scheduler = AsyncIOScheduler(timezone=UTC)

    def start(self) -> None:
        """Begin on the running event loop; what fell due meanwhile goes out at once."""
        self._scheduler.start()
        self.arm()

    def stop(self) -> None:
        self._scheduler.shutdown(wait=False)

    def arm(self) -> None:
        """Look again at when to wake."""
        if (wake := self._next_wake()) is None:
            return
        wait = max(wake[1] - self._clock(), timedelta(0))
        self._scheduler.add_job(
            self._woken,
            DateTrigger(datetime.now(UTC) + wait),
            id="wake",
            replace_existing=True,
            misfire_grace_time=None,  # never too late to look: due() decides what still makes sense
        )

    async def _woken(self) -> None:
        now = self._clock()
        while (wake := self._next_wake()) and wake[1] <= now:
            self._tick(wake[0], now)
        self.arm()
