"""The day as people ask for it and change it by chat: hours, days off, snoozes, reminders wanted and not wanted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import CrewSet, DayPlanned, DayWished, Entry, PersonJoined
from sitebot.hours import WEEKDAYS
from sitebot.message import Say, Term
from sitebot.respond.dates import date_of, dates_of, is_clock, moment_of
from sitebot.respond.desk import Answer, Desk, Notice
from sitebot.respond.people import ids_of, notice
from sitebot.respond.shifts import EVERYBODY, PAUSED, RESUMED, Shift, crew_of, hours_of, next_shift, shift_of

MOVERS = ("lead", "superintendent")
#: Lines that anybody may end for himself by their name.
LINES = ("brief", "seal")
#: The longest a snooze holds, and the longest it holds a hot iron [min].
LONGEST_SNOOZE_MIN, HOT_SNOOZE_MIN = 480, 60


def ask(act: Act, desk: Desk) -> Answer:
    """ "what time do we start tomorrow": the shift of that date, of the asker's crew."""
    today = date.fromisoformat(desk.day)
    day = date_of(act.facts.get("date"), today)
    shift = _shift(day, desk) if day else _coming(desk)
    if act.facts.get("of") == "preheat" and not day and desk.now >= shift.start:
        shift = next_shift(desk.now, desk.site, desk.log, desk.me) or shift
    if shift.works and act.facts.get("of") == "preheat":
        at = shift.start.astimezone(UTC) - timedelta(minutes=desk.site.shift.preheat_min)
        clock = {"time": at.astimezone(desk.site.tz), "start": shift.start}
        return Answer((Say("day.plug_at", {"date": shift.day, **clock}),))
    if shift.works:
        return Answer((Say("day.hours", {"date": shift.day, "start": shift.start, "end": shift.end}),))
    following = next_shift(shift.start, desk.site, desk.log, desk.me)
    values: dict[str, object] = {"date": shift.day, "next": following.day if following else None}
    return Answer((Say("day.off", values | {"start": following.start if following else None}),))


def _shift(day: date, desk: Desk) -> Shift:
    return shift_of(day, desk.site, desk.log, desk.now, desk.me)


def _coming(desk: Desk) -> Shift:
    """Today's shift while it lasts, else tomorrow's."""
    today = date.fromisoformat(desk.day)
    shift = _shift(today, desk)
    return shift if shift.works and desk.now < shift.end else _shift(today + timedelta(days=1), desk)


def plan(act: Act, desk: Desk) -> Answer:
    """A changed start or end, a day off, a snooze, a reminder wanted; for that date only."""
    facts = act.facts
    if facts.get("every"):
        return _comes_back(act, desk)
    if facts.get("snooze_min") is not None:
        minutes = int(facts["snooze_min"])
        if facts.get("remind"):
            return _own(desk.said_at + timedelta(minutes=minutes), facts.get("what"), desk)
        return _snooze(minutes, desk)
    if "paused" in facts and not (facts.get("no_work") and desk.role in MOVERS):
        return _paused(bool(facts["paused"]), desk)
    if facts.get("remind") is False or isinstance(facts.get("remind"), dict) or facts.get("what") in LINES:
        return _quiet(act, desk)
    if facts.get("remind") and (asked := _remind(act, desk)):
        return asked
    days = _days(act, desk)
    if not days or not any(facts.get(k) for k in ("start", "end", "no_work", "who")):
        return Answer((Say("day.what"),), "ask_back", asks=Unclear("day"))
    return _moved(act, days, desk)


def _days(act: Act, desk: Desk) -> list[date]:
    today = date.fromisoformat(desk.day)
    days = dates_of(act.facts.get("date"), today)
    if days or act.facts.get("date"):
        return days
    start = act.facts.get("start")
    if start and moment_of(str(start), today, desk.said_at) < desk.said_at - timedelta(hours=1):
        return [today + timedelta(days=1)]
    return [today]


def _by_night(facts: Mapping[str, Any], desk: Desk) -> dict[str, Any]:
    """ "we quit at 4" of a crew that works from nine at night till five: the four that is near, not that of the day."""
    out = dict(facts)
    usual = dict(zip(("start", "end"), hours_of(crew_of(desk.me, desk.site), desk.site), strict=True))
    if usual["end"] > usual["start"]:
        return out
    for key in ("start", "end"):
        if is_clock(told := facts.get(key)):
            hour, minute = (int(part) for part in str(told).split(":"))
            away = {
                h: min((h - int(usual[key][:2])) % 24, (int(usual[key][:2]) - h) % 24) for h in (hour, (hour + 12) % 24)
            }
            out[key] = f"{min(away, key=lambda h: away[h]):02d}:{minute:02d}"
    return out


def _moved(act: Act, days: list[date], desk: Desk) -> Answer:
    act = replace(act, facts=_by_night(act.facts, desk))
    facts = act.facts
    who, joined = ids_of(facts.get("who") or [], desk)
    only_me = who == (desk.me,)
    changes = [
        DayPlanned(
            date=d.isoformat(),
            start=facts.get("start"),
            end=facts.get("end"),
            no_work=True if facts.get("no_work") else (False if facts.get("start") else None),
            who=who if only_me or (facts.get("no_work") and who) else _whom(desk),
        )
        for d in days
    ]
    fresh = {e.person: e.name for e in joined if isinstance(e, PersonJoined)}
    values = {
        "date": days if len(days) > 1 else days[0],
        "start": _at(facts.get("start"), days[0], desk),
        "end": _at(facts.get("end"), days[0], desk),
        "names": [fresh.get(i) or desk.log.name_of(i) for i in who] or None,
        "teller": desk.person.name if desk.person else "",
    }
    key = _key(act, only_me or (bool(who) and bool(facts.get("no_work"))))
    if desk.role not in (*MOVERS, "inspector") and not only_me:
        return _wish(changes, Say(f"day.{key}", values), desk)
    entries: list[Entry] = [*joined, *changes]
    if who and not only_me and not facts.get("no_work"):
        entries += [CrewSet(day=d.isoformat(), people=who) for d in days]
    says = [Say("day.noted", {"what": Say(f"day.{key}", values)})]
    if facts.get("no_work") and days[0].isoformat() == desk.day and desk.log.irons_on():
        says.append(Say("day.unplug_first"))
    return Answer(
        tuple(says), "record", entries=tuple(entries), notices=_tell(Say(f"day.{key}", values), only_me, desk)
    )


def _paused(stops: bool, desk: Desk) -> Answer:
    """Work stands still, or goes on: anybody on the deck may say so, since all it does is ask for the irons."""
    goes_on = not stops and desk.role in MOVERS and not _shift(date.fromisoformat(desk.day), desk).works
    change = DayPlanned(
        date=desk.day, what=PAUSED if stops else RESUMED, no_work=False if goes_on else None, who=_whom(desk)
    )
    says = [Say("day.paused" if stops else "day.resumed")]
    if stops and desk.log.irons_on():
        says.append(Say("day.unplug_first"))
    return Answer(tuple(says), "record", entries=(change,))


def _whom(desk: Desk) -> tuple[str, ...]:
    """Whose day a word about the day moves: a lead's own crew where the site has several, else everybody's."""
    crew = crew_of(desk.me, desk.site)
    return () if desk.role != "lead" or crew is EVERYBODY else crew.people


def _key(act: Act, only_me: bool) -> str:
    if act.facts.get("no_work"):
        return "no_work_me" if only_me else "no_work"
    if act.facts.get("start"):
        return "start_me" if only_me else "start"
    return "end" if act.facts.get("end") else "crew"


def _at(clock: object, day: date, desk: Desk) -> datetime | None:
    return moment_of(str(clock), day, desk.said_at) if clock else None


def _wish(changes: list[DayPlanned], what: Say, desk: Desk) -> Answer:
    """A crew member's word about everybody's day goes to the lead to confirm."""
    wishes = tuple(
        DayWished(date=c.date, change={"start": c.start, "end": c.end, "no_work": c.no_work}) for c in changes
    )
    # Whoever is right about the day, nobody is with a hot iron now.
    stops = any(c.no_work and c.date == desk.day for c in changes)
    stopped = (DayPlanned(date=desk.day, what=PAUSED),) if stops else ()
    values = {"what": what, "teller": desk.person.name if desk.person else ""}
    leads = desk.with_role("lead")
    return Answer(
        (Say("day.passed_on", {"names": [p.name for p in leads], "what": what}),),
        "record",
        entries=(*wishes, *stopped),
        notices=notice(leads, desk, Say("day.wish", values)),
    )


def _tell(what: Say, only_me: bool, desk: Desk) -> tuple[Notice, ...]:
    """The lead hears of a day moved by somebody else, and who will not be there."""
    told = Say("day.told", {"what": what, "by": desk.person.name if desk.person else ""})
    return notice(desk.with_role("lead"), desk, told) if desk.role != "lead" or only_me else ()


def _snooze(minutes: int, desk: Desk) -> Answer:
    """Later; a hot iron waits an hour at most."""
    is_hot = "unplug" in desk.reminders and bool(desk.log.irons_on())
    minutes = min(minutes, HOT_SNOOZE_MIN if is_hot else LONGEST_SNOOZE_MIN)
    until = desk.said_at + timedelta(minutes=minutes)
    entry = DayPlanned(date=desk.day, snooze_min=minutes, snooze_until=until.isoformat())
    return Answer((Say("day.snooze", {"minutes": minutes, "time": until}),), "record", entries=(entry,))


def _quiet(act: Act, desk: Desk) -> Answer:
    """No reminders for him, of that date or of a part of every day; a hot iron is never muted, somebody else hears."""
    remind = act.facts.get("remind")
    if isinstance(remind, dict):
        # "stop the evening ones, keep the mornings": no date in it, so it holds until he says otherwise.
        parts = {part: on is False for part, on in remind.items() if part in ("morning", "evening", "brief", "seal")}
    elif act.facts.get("what") in LINES:
        parts = {str(act.facts["what"]): remind is False}
    else:
        today = date.fromisoformat(desk.day)
        day = date_of(act.facts.get("date"), today) or today
        entry = DayPlanned(date=day.isoformat(), quiet=True, who=(desk.me,))
        return Answer((Say("day.quiet"),), "record", entries=(entry,))
    entries = tuple(DayPlanned(date="", quiet=off, what=part, who=(desk.me,)) for part, off in parts.items())
    says = tuple(Say(f"day.{part}_{'off' if off else 'on'}") for part, off in parts.items())
    return Answer(says, "record", entries=entries) if entries else Answer((Say("day.remind_when"),), "ask_back")


def _remind(act: Act, desk: Desk) -> Answer | None:
    """A reminder of one's own at a time told."""
    facts = act.facts
    clock = next((c for c in (facts["remind"], facts.get("at")) if is_clock(c)), None)
    if clock is None:
        return Answer((Say("day.remind_when"),), "ask_back", asks=Unclear("time"))
    today = date.fromisoformat(desk.day)
    day = date_of(facts.get("date"), today) or today
    when = moment_of(str(clock), day, desk.said_at)
    if when <= desk.said_at:
        when = moment_of(str(clock), day + timedelta(days=1), desk.said_at)
    words = facts["remind"] if isinstance(facts["remind"], str) and not is_clock(facts["remind"]) else None
    return _own(when, facts.get("what") or words, desk)


def _own(when: datetime, what: object, desk: Desk) -> Answer:
    """It comes at that time to him who asked."""
    entry = DayPlanned(
        date=desk.day_of(when),
        remind_at=when.isoformat(),
        what=str(what or "")[:120],
        who=(desk.me,) if desk.me else (),
    )
    date_said = when.date() if when.date() != desk.said_at.date() else None
    values = {"time": when, "date": date_said, "what": _what(what)}
    return Answer((Say("day.remind", values),), "record", entries=(entry,))


def _comes_back(act: Act, desk: Desk) -> Answer:
    """A reminder of every day, or of a weekday, until he says that it is enough."""
    facts = act.facts
    every = str(facts["every"])
    every = every if every in WEEKDAYS else "day"
    clock = facts.get("at") if is_clock(facts.get("at")) else None
    ends = facts.get("remind") is False
    if clock is None and not ends:
        return Answer((Say("day.remind_when"),), "ask_back", asks=Unclear("time"))
    what = facts.get("what")
    entry = DayPlanned(
        date="", every=every, clock=clock, quiet=ends, what=str(what)[:120] if what else None, who=(desk.me,)
    )
    time = _at(clock, desk.said_at.date(), desk)
    values = {"time": time, "every": Term(f"every.{every}"), "what": _what(what)}
    return Answer((Say("day.every_off" if ends else "day.every", values),), "record", entries=(entry,))


def _what(what: object) -> object:
    return Say(f"day.what_{what}") if what in ("unplug", "preheat", "sample", "plug_in") else what
