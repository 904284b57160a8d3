"""When a line goes out the next time, and who hears it: repeats, others, the superintendent, snoozes, quiet hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sitebot.message import Person
from sitebot.record import DayChange, Reminder
from sitebot.reminders.lines import EVENING, MORNING, OF_THE_SHIFT, PRESSING, Seen, Wanted, kind_of, own_name, utc
from sitebot.respond.dates import moment_of
from sitebot.respond.shifts import EVERYBODY, is_off, shift_from

#: Repeats of one reminder before it rests, or goes on by the hour.
MOST_STEPS, THEN_EVERY_MIN = 9, 60
#: After the first hour it comes half as often again, but no rarer than this [min].
LATER_EVERY_MIN = 30
#: Never two of the same within [min].
APART_MIN = 10
#: Somebody else than the lead hears at the latest, counted from the first [min].
OTHERS_BY_MIN = 60
#: When the superintendent hears, counted from the first [min]; sooner where there is nobody between.
SUPERINTENDENT_AFTER_MIN = 60
#: Who is told beside the lead hears again after so long, and each time so much longer [min].
AGAIN_AFTER_MIN = 55
#: A snooze holds a hot iron no longer than this [min].
HOT_SNOOZE_MIN = 60


@dataclass(frozen=True, slots=True)
class Turn:
    """The next time of a line. ``round``: how often it went out since its time came, from 0."""

    at: datetime
    round: int
    first: datetime


def next_turn(line: Wanted, seen: Seen) -> Turn | None:
    """When a line goes out next, in the past where it is overdue; None where it has rested or its time is over."""
    sent = _sent(line, seen)
    in_round = [r for r in sent if r.at >= line.first - timedelta(minutes=APART_MIN)]
    if not line.repeats and (sent if line.kind != "cover" else in_round):
        return None
    if len(in_round) >= MOST_STEPS and not line.on_and_on:
        return None
    at = max(line.first, _after(in_round, seen) or line.first)
    if apart := _last_of_kind(line, seen):
        at = max(at, apart + timedelta(minutes=APART_MIN))
    if line.kind != "own":
        at = _past_snooze(line, at, seen)
    if line.kind not in OF_THE_SHIFT:
        at = _past_quiet(line, at, seen)
    if max(at, seen.now) > line.until:
        return None
    return Turn(at, len(in_round), in_round[0].at if in_round else at)


def _sent(line: Wanted, seen: Seen) -> list[Reminder]:
    sent = seen.reminded(line.day.isoformat())
    return [r for r in sent if r.what == line.what and (r.iron or "") == line.iron]


def _after(sent: Sequence[Reminder], seen: Seen) -> datetime | None:
    """After the last one; sooner where others would else hear later than an hour after the first."""
    if not sent:
        return None
    usual = sent[-1].at + timedelta(minutes=_every(sent, seen))
    others = sent[0].at + timedelta(minutes=seen.site.reminding.others_after_min)
    if sent[-1].at < others and usual > sent[0].at + timedelta(minutes=OTHERS_BY_MIN):
        return max(others, sent[-1].at + timedelta(minutes=APART_MIN))
    return usual


def _every(sent: Sequence[Reminder], seen: Seen) -> float:
    """How long until the next one: the longer nobody answers, the rarer."""
    often = seen.site.reminding.repeat_min
    if len(sent) >= MOST_STEPS:
        return THEN_EVERY_MIN
    is_late = sent[-1].at - sent[0].at >= timedelta(minutes=OTHERS_BY_MIN)
    return min(often * 1.5, max(often, LATER_EVERY_MIN)) if is_late else often


def _last_of_kind(line: Wanted, seen: Seen) -> datetime | None:
    """The last like reminder: the line's own, or what one of its hearers got of the same kind by another line."""
    kind, days = text_kind(line), {line.day.isoformat(), seen.local.date().isoformat()}
    to = set(line.to) or {p.id for p in seen.people if p.role == "lead"}
    like = [r.at for d in days for r in seen.reminded(d) if _is_like(r, kind, line, d, seen) and to & set(r.to)]
    return max(like, default=None)


def _is_like(sent: Reminder, kind: str, line: Wanted, day: str, seen: Seen) -> bool:
    if sent.what == line.what:
        return (sent.iron or "") == line.iron
    by_own = sent.what.startswith("own") or line.kind == "own"
    return by_own and kind in PRESSING | {"sample"} and _kind_sent(sent, day, seen) == kind


def text_kind(line: Wanted) -> str:
    """What a reminder speaks of: one asked for ("unplug at 3:30") is of the same kind as the shift's."""
    return str(line.values.get("text") or "own") if line.kind == "own" else line.kind


def _kind_sent(sent: Reminder, day: str, seen: Seen) -> str:
    if not sent.what.startswith("own"):
        return kind_of(sent.what)
    asked = [c.what for c in (*seen.changes(day), *seen.changes("")) if own_name(c) == sent.what]
    return asked[0] or "own" if asked else "own"


def _past_snooze(line: Wanted, at: datetime, seen: Seen) -> datetime:
    for change in seen.changes(line.day.isoformat()):
        if change.snooze_until is None:
            continue
        until = change.snooze_until
        if line.kind == "unplug":
            until = min(until, change.at + timedelta(minutes=HOT_SNOOZE_MIN))
        at = max(at, until)
    return at


def _past_quiet(line: Wanted, at: datetime, seen: Seen) -> datetime:
    """After the break or the quiet hours that a moment falls in. The hours of the line's own shift are not quiet."""
    local = at.astimezone(seen.site.tz)
    for span in seen.site.shift.breaks:
        if end := _end_within(span, local):
            at = max(at, utc(end))
    crew = line.crew or EVERYBODY
    shift = shift_from(line.day, seen.site, crew, seen.changes(line.day.isoformat()), seen.local)
    if shift.works and utc(shift.start, -seen.site.shift.preheat_min) <= at <= utc(shift.end, 60):
        return at
    end = _end_within(seen.site.reminding.quiet, local) if seen.site.reminding.quiet else None
    return max(at, utc(end)) if end else at


def _end_within(span: str, local: datetime) -> datetime | None:
    """The end of a span of the day, where the moment lies in it."""
    first, last = span.split("-")
    for day in (local.date() - timedelta(days=1), local.date()):
        begins, ends = moment_of(first, day, local), moment_of(last, day, local)
        if last <= first:
            ends = moment_of(last, day + timedelta(days=1), local)
        if utc(begins) <= utc(local) < utc(ends):
            return ends
    return None


# --- who hears ------------------------------------------------------------------------------------------------------


def hearers(line: Wanted, turn: Turn, seen: Seen) -> Sequence[Person]:
    """Who hears a line now. Nobody who wants no texts; nobody on his day off; a hot iron is never muted for all."""
    changes = seen.changes(line.day.isoformat())
    people = [p for p in seen.people if p.id not in seen.out_of_reach and not is_off(p.id, changes)]
    if line.to:
        return [p for p in seen.people if p.id in line.to and p.id not in seen.stopped]
    addressed = _addressed(line, people, seen)
    willing = [p for p in addressed if not _declines(p, line, changes, seen)]
    if not line.repeats and line.kind not in PRESSING:
        return willing
    waited = seen.now - turn.first if turn.round else timedelta(0)
    others, above = _others(line, people, seen), [p for p in people if p.role == "superintendent"]
    if not willing and (line.kind in PRESSING or not addressed):
        return others or above or (addressed if line.kind == "unplug" else []) or _tried_anyway(line, seen)
    late = waited >= timedelta(minutes=seen.site.reminding.others_after_min)
    later = waited >= timedelta(minutes=SUPERINTENDENT_AFTER_MIN) or (late and not others)
    if not willing:
        return []
    heard = [r for r in _sent(line, seen) if r.at >= turn.first]
    others = [p for p in others if late and _is_time_for(p, heard, seen)]
    hourly = line.kind == "unplug"  # a hot iron is above's matter as long as it is hot
    return [*willing, *others, *(p for p in above if later and _is_time_for(p, heard, seen, grows=not hourly))]


def _is_time_for(person: Person, sent: Sequence[Reminder], seen: Seen, grows: bool = True) -> bool:
    """Not every round is for everybody: who can only see to it that somebody goes hears it by the hour, then rarer."""
    heard = [r.at for r in sent if person.id in r.to]
    if not heard:
        return True
    gap = AGAIN_AFTER_MIN * (len(heard) if grows else 1)
    return seen.now - heard[-1] >= timedelta(minutes=gap)


def _tried_anyway(line: Wanted, seen: Seen) -> list[Person]:
    """With nobody else to go to, what is pressing is tried with the lead whom texts do not reach."""
    return [p for p in seen.people if p.role == "lead" and p.id not in seen.stopped and line.kind in PRESSING]


def _addressed(line: Wanted, people: Sequence[Person], seen: Seen) -> list[Person]:
    """The crew's leads, all where it has none; of a pour also those who inspect; of the evening and the seal, above."""
    if line.kind in ("brief_evening", "seal"):
        return [p for p in people if p.role == "superintendent"]
    leads = [p for p in people if p.role == "lead"]
    own = [p for p in leads if line.crew and p.id in line.crew.people]
    if line.kind == "pour":
        return [*leads, *(p for p in people if p.role == "inspector")]
    return own or leads


def _others(line: Wanted, people: Sequence[Person], seen: Seen) -> list[Person]:
    """Other leads and the crew, of whom it is known only those on that day."""
    first = {p.id for p in _addressed(line, people, seen)}
    on = seen.crew_on(line.day.isoformat()) or frozenset(line.crew.people if line.crew else ())
    crew = [p for p in people if p.role == "crew" and (not on or p.id in on)]
    return [*(p for p in people if p.role == "lead" and p.id not in first), *crew]


def _declines(person: Person, line: Wanted, changes: Sequence[DayChange], seen: Seen) -> bool:
    """Did he ask to be left alone with these: on that date, or for good?"""
    standing = {c.what or "": c.quiet for c in seen.changes("") if person.id in c.who and not c.every}
    today = {c.what or "": c.quiet for c in changes if person.id in c.who and (c.quiet or c.what in _PARTS)}
    asked = {**standing, **today}
    named = [part for part, kinds in _PARTS.items() if line.kind in kinds]
    return any(asked.get(part, False) for part in ("", *named))


_PARTS = {
    "evening": EVENING,
    "morning": MORNING,
    "brief": frozenset({"brief_morning", "brief_evening"}),
    "seal": {"seal"},
}
