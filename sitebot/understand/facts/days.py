# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Pours, the day, the crew, tallies and papers: what the lead and the superintendent text."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.marks import Mark, Text
from sitebot.understand.people import People, welders

#: Hours of the clock.
HOURS = 12

#: Somebody wants to be reminded, or not; "tell the others" is no reminder.
_REMIND = re.compile(
    r" (remind\w*|ping (me|us)|nag\w*|snooze|holler at me|wake (me|us)|text (me|us) at|alarm\w*|pinging|recuerd\w+|recordar\w*|recordame|recordatorio|acuerdame|acordame|avis[ae]me\w*|avisenme|avisenos|no me avises|ya no me (avises|recuerdes)|"
    r"ask me again|evening ones|deja de avisar|me vuelves a|another half|give it <dur>|give it) "
)
#: The hour itself is no part of what to remind of.
_WHEN = re.compile(r" ?(at|by|a las|a la|para las)? ?<\w+>.*$")


def _place(text: Text) -> dict[str, Any]:
    marks = text.of("place")
    return {"place": marks[0].value} if marks else {}


def _date(text: Text) -> dict[str, Any]:
    marks = text.of("date")
    if marks:
        return {"date": marks[0].value}
    row = text.row()[0]
    for word, said in (
        (" today ", "today"),
        (" hoy ", "hoy"),
        (" tonight ", "tonight"),
        (" rained out ", "today"),
        (" calling it ", "today"),
    ):
        if word in row:
            return {"date": said}
    return {}


def _at(text: Text) -> dict[str, Any]:
    marks = text.of("time")
    return {"at": marks[0].value} if marks else {}


def release_pour(text: Text, context: Context) -> list[Act]:
    """Somebody released a place for concrete."""
    facts = _place(text) | _at(text)
    dates = text.of("date")
    if dates:
        facts["date"] = dates[0].value
    row = text.row()[0]
    who = re.search(r" (super|superintendent|inspectora?|the inspector|residente) ", row)
    names = [n for g in People(text, context.gazetteer).groups() for n in g if n != "me"]
    facts["who"] = (
        names[0]
        if names
        else who.group(1).replace("super", "superintendent")
        if who and context.role not in {"superintendent"}
        else "me"
    )
    return [Act("release_pour", facts)]


def plan_pour(text: Text, context: Context) -> list[Act]:
    """When a place is to be poured."""
    return [Act("plan_pour", _place(text) | _date(text) | _at(text))]


def ask_pour(text: Text, context: Context) -> list[Act]:
    """Whether a place may be poured."""
    marks = text.of("place")
    return [Act("ask_pour", {"place": m.value}) for m in marks[:3]] or [Act("ask_pour", {})]


def _from_hour(text: Text, first: Mark) -> list[str]:
    """ "7 to noon": the bare hour before a time."""
    lead = text.mark_at(first.start - 2)
    spans = text.word(first.start - 1) in {"to", "-", "til", "till", "until", "a", "hasta"}
    whole = lead is not None and lead.kind == "n" and isinstance(lead.value, int) and 1 <= lead.value <= 12
    return [f"{lead.value:02d}:00"] if lead is not None and whole and spans else []


def _hour(text: Text) -> list[str]:
    """Times of a day plan, bare hours too: "start 6 tmrw", "in at 9"."""
    marks = text.of("time")
    if not marks and (span := _from_to(text)):
        return span
    if marks:
        return [*_from_hour(text, marks[0]), *(str(m.value) for m in marks)]
    found = []
    for mark in text.of("n"):
        before = " ".join(text.word(i) for i in range(max(0, mark.start - 3), mark.start))
        value = mark.value
        if isinstance(value, float) and value % 1 == 0.5:
            found.append(f"{int(value):02d}:30")
            continue
        if not isinstance(value, int) or not 1 <= value <= 12:
            continue
        if (
            re.search(
                r"(start|starts|at|to|a las|las|in at|go at|until|till|til|at|by|tomorrow|starts at|tuesday|monday|wednesday|thursday|friday|saturday|is|de|a|done at|off at|:|,|bump)( \w+)?$",
                before,
            )
            or text.word(mark.end) in {"sharp", "start", "tomorrow", "instead", "as"}
            or not before
        ):
            found.append(f"{value:02d}:00")
    return found


def _from_to(text: Text) -> list[str]:
    """ "de 7 a 12": a range of hours is when the day begins and ends."""
    spans = [m.value for m in text.of("range") if len(m.value) > 1 and m.value[-1] <= HOURS]
    return [f"{spans[0][0]:02d}:00", f"{spans[0][-1]:02d}:00"] if spans else []


def plan_day(text: Text, context: Context) -> list[Act]:
    """Start, end, a day off, reminders and snoozes."""
    row = text.row()[0]
    facts: dict[str, Any] = {}
    snooze = _snooze(text, row)
    if snooze:
        return [Act("plan_day", {"snooze_min": snooze, **_errand(text)})]
    if _REMIND.search(row):
        return [Act("plan_day", _reminder(text, row, context))]
    facts |= _date(text)
    off = (
        text.has("no_work")
        and not re.search(
            r" (hold|held|holding|knock\w*|put|push|clock\w*|sign\w*|kick\w*|start\w*) (it |us )?off ", row
        )
    ) or re.search(
        r" (no shift|rained out|nobody|no work|calling it|called off|descansamos|descansan|no voy|no vengo|no llego|no hay jale) ",
        row,
    )
    hours = _hour(text)
    if (
        off
        and not re.search(r" (media jornada|half day) ", row)
        and not (hours and len(text.of("date")) < 2 and not re.search(r" (no work|off|no hay jale|rain) ", row))
    ):
        facts["no_work"] = True
        if hours and len(text.of("date")) >= 2:
            first = dict(facts.items())
            return [Act("plan_day", first), Act("plan_day", {"start": hours[0], "date": text.of("date")[1].value})]
    elif hours:
        ends = words.says("day_ends", row)
        if len(hours) > 1 and hours[-1] < hours[0] < "12:00":
            hours = [*hours[:-1], f"{int(hours[-1][:2]) + 12:02d}{hours[-1][2:]}"]
        if len(hours) > 1 and re.search(r" (to|a|until|hasta|-|til) ", row):
            facts |= {"start": hours[0], "end": hours[-1]}
        elif (
            ends
            and not words.says("day_starts", row)
            and not re.search(r" (nobody energizes|not a minute before|hold off|holding off|wait|delay\w*) ", row)
        ):
            facts["end"] = hours[0]
            if int(hours[0][:2]) < 6:
                facts["end"] = f"{int(hours[0][:2]) + 12:02d}{hours[0][2:]}"
        else:
            facts["start"] = _pick_start(text, hours, row)
    who = _who(text, context, row)
    if who:
        facts["who"] = who
    return [Act("plan_day", facts)]


def _pick_start(text: Text, hours: list[str], row: str) -> str:
    denied = re.search(r" (?:not|no|instead of|en vez de) (?:\w+ ){0,2}?(<n>|<time>)", row)
    if len(hours) > 1 and denied:
        return hours[0] if re.search(r"<n>|<time>", row[: denied.start()]) else hours[1]
    later = len(hours) > 1 and re.search(r" but make it | waterstop starts ", row)
    return hours[-1] if later else hours[0]


def _who(text: Text, context: Context, row: str) -> list[str]:
    names = welders(text, context.gazetteer, context.role == "crew")
    if names:
        return names
    if (
        re.search(
            r" (i am in|i will be in|yo manana|no vengo|no voy|no llego|dentist|so i am|in at <n>|ima be|tengo) ", row
        )
        and context.role in {"crew"}
    ) or re.search(r" (i am|i will) (be )?(in|off) ", row):
        return ["me"]
    return []


def may_pour(text: Text, context: Context) -> bool:
    """The inspector lets a place be poured."""
    return context.role == "inspector" and bool(text.of("place")) and words.says("may_pour", text.row()[0])


def _snooze(text: Text, row: str) -> int:
    durations = [m for m in text.of("dur") if m.unit == "min"]
    if durations and words.says("puts_off", row):
        return int(durations[0].value)
    if text.of("n") and re.search(r" en <n> [.!]? ?$", row) and words.says("puts_off", row):
        return int(text.of("n")[0].value)
    asks = re.search(
        r" (snooze|remind me again|ask me again|another|give me|give it|dame|deme chance|otra vez en|recuerdame en|remind me in|dentro de|me vuelves|before you ping|more|bug me|bug us|text me (again|back)|text us (again|back)|gimme|hit me again|check back|mas y ahi|in <dur>|(?:avis\w+|pregunt\w+|record\w+|recuerd\w+|llam\w+) (?:otra vez )?en <dur>|chance|hold off|wait) ",
        row,
    )
    if durations and asks:
        return int(durations[0].value)
    numbers = text.of("n")
    if numbers and re.search(
        r" (snooze)( \w+)? <n> | <n> more (minutes|minutos) | (another|give me|gimme|wait) <n> $| (another|give me|gimme|wait) <n> [.!] $| <n> (minutes|minutos) (more|mas) ",
        row,
    ):
        return int(numbers[0].value)
    if re.search(r" (ask|text|bug|ping|hit|remind|check)( me| us)? (again |back )?in <n> ", row) and numbers:
        return int(numbers[0].value)
    if re.search(r" snooze ", row):
        return int(numbers[0].value) if numbers else 20
    return 0


def _errand(text: Text) -> dict[str, Any]:
    """ "remind me in 20 min to order sleeves": no reminder of ours put off, but one of his own."""
    row, places = text.row()
    what = re.search(r"<dur> (?:to|para|pa|que|de que|lo de|about) (.+) $", row) if _REMIND.search(row) else None
    if what is None:
        return {}
    return {"remind": True, "what": text.raw(places[what.start(1)], len(text.tokens)).strip(" .!?")}


def _reminder(text: Text, row: str, context: Context) -> dict[str, Any]:
    facts: dict[str, Any] = dict(_date(text))
    off = re.search(
        r" (do not remind|dont remind|no me avises|no me recuerde|stop|quit|no more reminders|ya no me) ", row
    )
    hours = _hour(text)
    keep = re.search(r" (keep|except|menos|deja) ", row)
    if off and not hours:
        facts["remind"] = {"evening": False, "morning": True} if keep and "evening" in row else False
        return facts
    if hours:
        facts |= {"remind": True, "at": _reminder_hour(hours[0], row)}
        task = re.search(r" (?:to|para|pa|so i|lo de) (.+?) ?$", row)
        if task:
            facts["what"] = _WHEN.sub("", task.group(1)).strip()
    else:
        facts["remind"] = True
    return facts


def _reminder_hour(hour: str, row: str) -> str:
    late = re.search(r" (pull|unplug|desconectar|off|knock) ", row) and int(hour[:2]) < 7
    return f"{int(hour[:2]) + 12:02d}{hour[2:]}" if late else hour


def set_crew(text: Text, context: Context) -> list[Act]:
    """Who is on the crew."""
    row = text.row()[0]
    people = People(text, context.gazetteer)
    facts: dict[str, Any] = {}
    add: list[str] = []
    remove: list[str] = []
    names: list[str] = []
    for at in range(len(text.tokens)):
        linked = text.word(at - 1) in {"add", "agrega", "a", "saca", "mete", "swap", "put", "and", "y", "with"}
        if not people.is_name(at, linked):
            continue
        name = people.shown(at)
        names.append(name)
        before = " ".join(text.word(i) for i in range(max(0, at - 4), at))
        after = " ".join(text.word(i) for i in range(at + 1, at + 5))
        if (
            re.search(r"(take|saca a|swap|remove|drop|kick|saca)( \w+)?$", before) and not re.match(r"(in|spot)", after)
        ) or re.match(r"(out|off|is not|quit|place|gone|lo pasaron|is not come|went)", after):
            remove.append(name)
        elif re.search(r"(add|agrega a|mete a|put|a|is|llama|agrega|new|inspector|for)( \w+)?$", before) or re.match(
            r"(in|is taking|takes|comes in|back|leads|takin|is crew|starting|starts)", after
        ):
            add.append(name)
    if add or remove:
        facts |= ({"add": add} if add else {}) | ({"remove": remove} if remove else {})
    else:
        facts["crew"] = welders(text, context.gazetteer, context.role == "crew") or names
    facts |= _date(text)
    role = re.search(r" (lead|inspector|splicer|leads) ", row)
    if role:
        facts["role"] = {"splicer": "crew", "leads": "lead"}.get(role.group(1), role.group(1))
    return [Act("set_crew", facts)]
