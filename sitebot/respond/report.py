"""Reports asked for in chat: the figures as text at once, the file for channels that carry one.

What the file holds is made in reports/ from ``Answer.picture``; here it is only named. How good the welders are is
told to lead and inspector alone, and never as a ranking.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sitebot.acts import Act
from sitebot.entries import DayPlanned
from sitebot.message import Say, Term
from sitebot.record import Count, Splice
from sitebot.respond import seal, tally
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.places import place_of
from sitebot.trade.statistics import wilson

#: Fewer first inspections than this say nothing about a person.
FEWEST = 10
#: Words for a kind of file -> the kind.
FORMATS = {"csv": "csv", "spreadsheet": "xlsx", "excel": "xlsx", "xlsx": "xlsx", "json": "json"}

#: What a wish for the report of every day is kept as, and the line of reminders it makes.
DAILY_REPORT = "daily_report"
#: What else may be asked for by name: a chart, the map of a place.
CHARTS = ("pace", "first-pass", "rejects", "heats", "covers")


@dataclass(frozen=True, slots=True)
class WelderRate:
    """First inspections of one person's splices."""

    person: str
    passed: int
    judged: int

    @property
    def interval(self) -> tuple[float, float] | None:
        """95 % score interval of the share that passed; None where there are too few to tell."""
        return wilson(self.passed, self.judged) if self.judged >= FEWEST else None


def answer(act: Act, desk: Desk) -> Answer:
    """The figures of the period as text, and which file goes with them; fact ``about``: welders, or a chart."""
    if act.facts.get("about") == "welders":
        return welders(act, desk)
    if "seal" in (act.facts.get("of"), act.facts.get("about")):
        return seal.answer(desk)
    if act.facts.get("about") == "photos":
        return photos(act, desk)
    if isinstance(act.facts.get("standing"), bool):
        return standing(bool(act.facts["standing"]), desk)
    first, last, called = tally.period_of({"period": "today", **act.facts}, desk)
    place = place_of(act.facts.get("place"), desk)
    descriptor = file_of(act.facts, first, last, place, desk)
    says = [_figures(first, last, called, place, desk)]
    says += _open(place, desk)
    return Answer(tuple(says), facts={"place": place} if place else {}, picture=descriptor)


def photos(act: Act, desk: Desk) -> Answer:
    """How many photos there are of a splice or a place, and the latest of them, for channels that carry one."""
    numbers, place = act.facts.get("numbers") or [], place_of(act.facts.get("place"), desk)
    shown = {s.number for s in desk.log.splices(place=place)} if place else set(numbers)
    found = [p for p in desk.log.photos() if shown & {*p.numbers} or (place and p.place == place)]
    values = {"n": len(found), "photos": Term("photo", len(found)), "numbers": list(numbers), "place": place}
    if not found:
        return Answer((Say("report.photos_none", values),))
    by, at = desk.log.name_of(found[-1].by), found[-1].at.astimezone(desk.site.tz)
    says = Say("report.photos_found", {**values, "by": by, "date": at.date(), "time": at})
    return Answer((says,), facts={"numbers": list(numbers)}, picture={"photo": found[-1].sha256})


def standing(wanted: bool, desk: Desk) -> Answer:
    """The day's report after each shift from now on, or no more."""
    entry = DayPlanned(date="", what=DAILY_REPORT, quiet=not wanted, who=(desk.me,))
    return Answer((Say(f"report.standing_{'on' if wanted else 'off'}"),), "record", entries=(entry,))


def file_of(
    facts: Mapping[str, Any], first: str | None, last: str | None, place: str | None, desk: Desk
) -> dict[str, Any]:
    """Which file was asked for: a chart, the log as a table, the dossier of a place, or the report of a day.

    One PDF is one day; where several are asked for it is the latest of them with a splice.
    """
    language = desk.person.language if desk.person else desk.site.language
    if facts.get("about") in CHARTS:
        return {"chart": facts["about"], "language": language}
    if facts.get("about") == "map" and place:
        return {"map": place, "language": language}
    wanted = FORMATS.get(str(facts.get("format") or "").lower())
    if wanted:
        return {"log": wanted, "first": first, "last": last, "place": place, "language": language}
    if place:
        return {"dossier": place, "language": language}
    if first and first == last:
        return {"report": first, "language": language}
    days = [c.day for c in desk.log.counts(first=first, last=last) if c.status != "voided"]
    return {"report": max(days, default=desk.day), "language": language}


def _figures(first: str | None, last: str | None, called: object, place: str | None, desk: Desk) -> Say:
    total = _sum(desk.log.counts(first=first, last=last, place=place))
    made = total["accepted"] + total["rejected"] + total["pending"]
    values = {"period": called, "place": place, "made": made, "splices": Term("splice", made), **total}
    return Say("report.figures", values)


def _sum(counts: Iterable[Count]) -> dict[str, int]:
    total = {"accepted": 0, "rejected": 0, "pending": 0, "voided": 0}
    for count in counts:
        total[count.status] += count.n
    return total


def _open(place: str | None, desk: Desk) -> list[Say]:
    """What a reader should know before he opens any file."""
    numbers = [s.number for s in desk.log.open_rework() if place is None or s.place == place]
    return [Say("report.open_rework", {"numbers": numbers})] if numbers else []


# --- who is good at it ----------------------------------------------------------------------------------------------


def welders(act: Act, desk: Desk) -> Answer:
    """First-pass rate of each welder, for lead and inspector only; by name, not by rank."""
    if desk.role not in ("lead", "inspector"):
        return Answer((Say("report.welders_refused"),), "refuse")
    rates = welder_rates(desk.log.splices())
    if not rates:
        return Answer((Say("report.welders_none"),))
    names = {r.person: desk.log.name_of(r.person) for r in rates}
    lines = [_rate(r, names[r.person]) for r in sorted(rates, key=lambda r: names[r.person].casefold())]
    return Answer((Say("report.welders", {"lines": lines}),), why=(Say("report.welders_why", {"fewest": FEWEST}),))


def welder_rates(splices: Iterable[Splice]) -> list[WelderRate]:
    """Of all who welded; a splice counts for each of its welders, redos are no first inspection."""
    counts: dict[str, list[int]] = {}
    for s in splices:
        for person in s.welders if s.status != "voided" and s.redo_of is None else ():
            tallied = counts.setdefault(person, [0, 0])
            tallied[0] += s.status == "accepted"
            tallied[1] += s.status in ("accepted", "rejected")
    return [WelderRate(person, passed, judged) for person, (passed, judged) in counts.items()]


def _rate(r: WelderRate, name: str) -> Say:
    values: dict[str, object] = {"name": name, "passed": r.passed, "n": r.judged}
    if r.interval is None:
        return Say("report.welder_few", values)
    low, high = r.interval
    return Say(
        "report.welder",
        {**values, "share": _percent(r.passed / r.judged), "low": _percent(low), "high": _percent(high)},
    )


def _percent(share: float) -> str:
    return f"{100 * share:.0f}%"
