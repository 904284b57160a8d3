"""How many: counts by period, place, kind, welder and verdict; and one splice's story."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.message import Say, Term
from sitebot.record import Count, Line, Splice, weather_at
from sitebot.respond import pours
from sitebot.respond.dates import dates_of
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.findings import findings_said
from sitebot.respond.heat import way_said
from sitebot.respond.people import names_of
from sitebot.respond.places import kind_at, place_of
from sitebot.respond.weather import parts_said

STATUSES = {"accept": "accepted", "reject": "rejected", "pending": "pending"}
#: So many splices are named by their numbers.
MOST_NAMED = 12
#: Groups told in one reply; the rest stands in the report.
MOST_GROUPS = 8


def period_of(facts: Mapping[str, Any], desk: Desk) -> tuple[str | None, str | None, object]:
    """First and last shift day of a period (None: open) and how to call it."""
    today = date.fromisoformat(desk.day)
    match facts.get("period"):
        case "today":
            return desk.day, desk.day, Say("tally.today")
        case "yesterday":
            day = (today - timedelta(days=1)).isoformat()
            return day, day, Say("tally.yesterday")
        case "week":
            return (today - timedelta(days=today.weekday())).isoformat(), None, Say("tally.week")
        case "date":
            days = dates_of(str(facts.get("date") or ""), today)
            past = [d if d <= today else d - timedelta(days=7) for d in days]
            if past:
                return min(past).isoformat(), max(past).isoformat(), list(past)
    return None, None, Say("tally.all")


def answer(act: Act, desk: Desk) -> Answer:
    """The tally: made first, since "how many" asks for that."""
    facts = act.facts
    if facts.get("of") == "samples":
        return _samples(desk)
    if facts.get("of") == "open":
        numbers = [s.number for s in desk.log.open_rework()]
        told = Say("tally.open", {"numbers": numbers}) if numbers else Say("tally.none_open")
        return Answer((told,), facts={"numbers": numbers})
    first, last, called = period_of(facts, desk)
    place = place_of(facts.get("place"), desk)
    rows = _rows(facts, first, last, place, desk)
    total = _sum(rows)
    values: dict[str, object] = {
        **total,
        "voided": total["voided"] or None,
        "splices": Term("splice", total["made"]),
        "period": called,
        "place": place,
        "welder": facts.get("welder"),
        "kind": Term(f"kind.{facts['joint']}", 2) if facts.get("joint") else None,
    }
    says = [Say("tally.none" if not total["made"] else "tally.made", values)]
    if desk.log.is_kept and (status := STATUSES.get(str(facts.get("verdict")))):
        named = _numbers(facts, status, first, last, place, desk) if total["made"] <= MOST_NAMED else []
        says = [Say(f"tally.of_{status}", {**values, "numbers": named or None})]
    if group := _groups(facts.get("by"), rows, first, last, place, desk):
        says.append(Say("tally.by", {"lines": group}))
    elif place and not facts.get("welder"):
        says += _against_plan(place, desk)
    return Answer(tuple(says), facts={"place": place} if place else {})


def _samples(desk: Desk) -> Answer:
    """The sample welds of the day, one after the other."""
    lines = [
        Say(
            f"tally.sample_{s.verdict}",
            {
                "time": s.at.astimezone(desk.site.tz),
                "iron": s.iron,
                "defect": Term(f"defect.{s.defect}") if s.defect else None,
            },
        )
        for s in desk.log.samples(desk.day)
    ]
    return Answer((Say("tally.samples", {"lines": lines}) if lines else Say("tally.no_samples"),))


def _rows(facts: Mapping[str, Any], first: str | None, last: str | None, place: str | None, desk: Desk) -> list[Count]:
    joint, verdict = facts.get("joint"), facts.get("verdict")
    if facts.get("welder"):
        rows = counted(desk.log.splices(welder=_whose(facts, desk), place=place), first, last)
    elif first is None and last is None and facts.get("by") not in ("day", "week"):
        rows = list(desk.log.totals(place))
    else:
        rows = list(desk.log.counts(first=first, last=last, place=place))
    if joint and joint != "unknown":
        kind = kind_at(joint, place, desk)
        rows = [r for r in rows if kind == r.kind or (kind == "corner" and r.kind.endswith("corner"))]
    status = STATUSES.get(str(verdict))
    return [r for r in rows if status is None or r.status == status]


def _numbers(
    facts: Mapping[str, Any], status: str, first: str | None, last: str | None, place: str | None, desk: Desk
) -> list[int]:
    found = desk.log.splices(place=place, status=status)
    who = _whose(facts, desk)
    return [
        s.number
        for s in found
        if (not first or s.day >= first) and (not last or s.day <= last) and (who is None or who in s.welders)
    ]


def _whose(facts: Mapping[str, Any], desk: Desk) -> str | None:
    """The id of the person whose splices are asked for; "?" where nobody is called so."""
    if not facts.get("welder"):
        return None
    me = str(facts["welder"]).casefold() in ("me", "yo")
    return (desk.me if me else desk.log.id_of(str(facts["welder"]))) or "?"


def counted(splices: Iterable[Splice], first: str | None, last: str | None) -> list[Count]:
    tally = Counter(
        (s.day, s.place or "", s.kind, s.status)
        for s in splices
        if (first is None or s.day >= first) and (last is None or s.day <= last)
    )
    return [Count(*key, n) for key, n in tally.items()]


def _sum(rows: Iterable[Count]) -> dict[str, int]:
    total = Counter[str]()
    for row in rows:
        total[row.status] += row.n
    made = sum(n for status, n in total.items() if status != "voided")
    return {"made": made, **{k: total[k] for k in ("accepted", "rejected", "pending", "voided")}}


def _groups(
    by: str | None, rows: Sequence[Count], first: str | None, last: str | None, place: str | None, desk: Desk
) -> list[Say]:
    keys: dict[str, Callable[[Count], object]] = {
        "place": lambda r: r.place or Say("tally.no_place"),
        "joint": lambda r: Term(f"kind.{r.kind}", 2),
        "kind": lambda r: Term(f"kind.{r.kind}", 2),
        "day": lambda r: date.fromisoformat(r.day),
        "week": lambda r: date.fromisoformat(r.day) - timedelta(days=date.fromisoformat(r.day).weekday()),
        "verdict": lambda r: Term(f"status.{r.status}"),
    }
    if by == "welder":
        return _by_welder({r.status for r in rows}, first, last, place, desk)
    if by not in keys:
        return []
    totals: dict[str, tuple[object, int]] = {}
    for row in rows:
        if row.status != "voided":
            key = keys[by](row)
            totals[repr(key)] = (key, totals.get(repr(key), (key, 0))[1] + row.n)
    return [Say("tally.group", {"group": key, "n": n}) for key, n in list(totals.values())[:MOST_GROUPS]]


def _by_welder(among: set[str], first: str | None, last: str | None, place: str | None, desk: Desk) -> list[Say]:
    totals = Counter[str]()
    for splice in desk.log.splices(place=place):
        if (
            splice.status in among - {"voided"}
            and (not first or splice.day >= first)
            and (not last or splice.day <= last)
        ):
            totals.update(splice.welders or ("",))
    return [
        Say("tally.group", {"group": names_of([who], desk) if who else Say("tally.nobody"), "n": n})
        for who, n in totals.most_common(MOST_GROUPS)
    ]


def _against_plan(name: str, desk: Desk) -> list[Say]:
    place = desk.log.place(name)
    planned = sum(place.planned.values())
    lines = [
        Say("tally.of_plan", {"accepted": place.accepted.get(k, 0), "planned": n, "kind": Term(f"kind.{k}", n)})
        for k, n in place.planned.items()
    ]
    return [Say("tally.planned", {"planned": planned, "lines": lines})] if planned else []


def splice(act: Act, desk: Desk) -> Answer:
    """One splice: what the log holds of it, and its whole story when asked."""
    number = act.facts.get("number")
    if number == "last":
        number = _last_named(desk)
    if number is None and desk.role == "superintendent":
        return pours.ask(Act("ask_pour", {}), desk)
    if number is None:
        return Answer((Say("tally.which"),), "ask_back", asks=Unclear("number"))
    found = desk.log.splice(int(number)) if desk.log.is_kept else None
    if found is None:
        return Answer((Say("tally.unknown", {"number": int(number)}),))
    says = [_described(found, desk)]
    if found.findings:
        says.append(Say("findings.stands", {"found": findings_said(found.findings)}))
    if act.facts.get("history"):
        if told := weather_at(desk.log.weather(found.day), found.made_at):
            says.append(Say("weather.then", {"parts": parts_said(told)}))
        lines = _history(desk.log.history(int(number)), int(number), desk)
        says.append(Say("tally.history", {"lines": lines}))
    return Answer(tuple(says), facts={"numbers": [found.number]})


def _last_named(desk: Desk) -> int | None:
    """The splice the same person spoke of last."""
    for act in desk.last:
        numbers = act.facts.get("made") or act.facts.get("judged") or act.facts.get("numbers")
        if isinstance(numbers, list) and numbers:
            return int(numbers[-1])
    return None


def _described(s: Splice, desk: Desk) -> Say:
    at = s.made_at.astimezone(desk.site.tz) if s.made_at else None
    return Say(
        "tally.splice",
        {
            "number": s.number,
            "kind": Term(f"kind.{s.kind}"),
            "place": s.place,
            "welders": names_of(s.welders, desk),
            "iron": s.iron,
            "temp": s.temp_f,
            "temp_by": way_said(s.temp_by),
            "date": at.date() if at else None,
            "time": at,
            "status": Term(f"status.{s.status}"),
            "defect": Term(f"defect.{s.defect}") if s.defect else None,
            "by": names_of([s.verdict_by], desk) if s.verdict_by and s.status in ("accepted", "rejected") else None,
            "redo_of": s.redo_of,
            "redone": [r.number for r in desk.log.redos_of(s.number)],
        },
    )


def _history(lines: Sequence[Line], number: int, desk: Desk) -> list[Say]:
    """One entry after the other; the date only where it changes."""
    said, before = [], None
    for line in lines:
        at = line.at.astimezone(desk.site.tz)
        date_said = at.date() if at.date() != before else None
        before = at.date()
        values = {"date": date_said, "time": at, "who": names_of([line.person], desk), "what": _what(line, number)}
        said.append(Say("tally.line", values))
    return said


def _what(line: Line, number: int) -> Term:
    """What happened, in the word of the trade: which verdict it was, and that another splice took its place."""
    verdict = line.body.get("verdict")
    if line.kind == "VerdictGiven" and verdict in ("accept", "reject"):
        return Term(f"verdict.{verdict}")
    if line.kind == "SpliceReported" and line.body.get("number") != number:
        return Term("entry.redone")
    return Term(f"entry.{line.kind}")
