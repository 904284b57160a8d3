# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Questions of the log: tallies, one splice, reports, who is on; and the language a person wants."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts.days import _date as date_of
from sitebot.understand.facts.days import _place as place_of
from sitebot.understand.facts.kinds import named_kinds, refine
from sitebot.understand.facts.rows import rows
from sitebot.understand.marks import Text
from sitebot.understand.people import People, welders


def _period(text: Text, row: str) -> dict[str, Any]:
    if re.search(r" (today|hoy|oy|de hoy|the day) ", row):
        return {"period": "today"}
    if re.search(r" (yesterday|yesterdays|ayer|de ayer) ", row):
        return {"period": "yesterday"}
    if re.search(r" (this week|week|wk|semana|since monday|esta semana) ", row) and not re.search(
        r" (week by week|semana por semana|last week) ", row
    ):
        return {"period": "week"}
    dates = text.of("date")
    if dates and dates[0].value.lower() not in {"this morning"}:
        said = dates[0].value
        return {"period": "yesterday"} if said.lower() in {"yesterday", "ayer"} else {"period": "date", "date": said}
    return {}


def ask_tally(text: Text, context: Context) -> list[Act]:
    """How many, by whom, where."""
    row = text.row()[0]
    facts: dict[str, Any] = _period(text, row)
    if not facts:
        whole = re.search(
            r" (total|so far|to date|all|since|altogether|project|whole job|job|all time|desde|en total|acumulado|en toda) ",
            row,
        )
        facts = {
            "period": "all"
            if whole or text.of("place") or context.role in {"superintendent", "inspector"} or named_kinds(text)
            else "today"
        }
        if re.search(r" this morning ", row):
            facts = {"period": "today"}
    facts |= place_of(text)
    by = re.search(
        r" (?:by|per|por|cada|split out by|sorted by|separadas por|each) (who|welder|iron|place|wall|pour|day|week|cause|kind|type|tipo|dia|cisterna|lugar|muro|semana|cada|verdict|soldador|quien) ",
        row,
    )
    named = {
        "who": "welder",
        "wall": "place",
        "pour": "place",
        "cisterna": "place",
        "lugar": "place",
        "muro": "place",
        "dia": "day",
        "cause": "defect",
        "type": "joint",
        "tipo": "joint",
        "kind": "joint",
        "semana": "week",
        "soldador": "welder",
        "quien": "welder",
    }
    if by:
        facts["by"] = named.get(by.group(1), by.group(1))
    elif re.search(r" (who got|most welds|quien lleva|cada quien|who is producing|lion|whip me) ", row):
        facts["by"] = "welder"
    elif re.search(r" (week by week|semana por semana) ", row):
        facts["by"] = "week"
    names = welders(text, context.gazetteer, context.role == "crew") or _one_name(text, context)
    if names:
        facts["welder"] = names[0] if len(names) == 1 else names
    elif re.search(r" (have i|i done|yo|mias|just me|my|hice|mine) ", row) and not facts.get("by"):
        facts["welder"] = "me"
    kinds = named_kinds(text)
    if kinds:
        facts["joint"] = refine(kinds[0].kind, text)
    if text.has("sample"):
        return [Act("ask_tally", {**facts, "of": "samples"})]
    return [Act("ask_tally", facts | _verdict_asked(row))]


def _verdict_asked(row: str) -> dict[str, Any]:
    """ "how many rejects"; who asks for the total as well wants all of them."""
    if _TOTAL_TOO.search(row):
        return {}
    for pattern, verdict in (
        (r" (reject\w*|rechazad\w*|malos|malas|bounced|kicked back) ", "reject"),
        (r" (waiting|uninspected|pending|sin inspeccion|pendientes|por ver|without a call|por revisar) ", "pending"),
        (r" (accepted|aceptad\w*|aprobad\w*) ", "accept"),
    ):
        if re.search(pattern, row):
            return {"verdict": verdict}
    return {}


_TOTAL_TOO = re.compile(
    r" (total|made|count|welded|done|day|hechos|hechas|van|llevamos) (\w+ ){0,2}(and|n|y|plus|,) "
    r".*(reject|rechaz|malos|malas|void|accept|acept|waiting)"
)


def _one_name(text: Text, context: Context) -> list[str]:
    people = People(text, context.gazetteer)
    return [people.shown(at) for at in range(len(text.tokens)) if people.is_name(at)][:1]


def ask_splice(text: Text, context: Context) -> list[Act]:
    """The story of one splice."""
    numbers = [n for r in rows(text) for n in r.numbers if isinstance(n, int)]
    look = re.search(r" look up <n> ", text.row()[0])
    if look and len(numbers) > 1:
        numbers = numbers[-1:]
    return [Act("ask_splice", {"number": n}) for n in numbers[:3]] or [Act("ask_splice", {"number": "last"})]


def ask_report(text: Text, context: Context) -> list[Act]:
    """The daily report or an export."""
    row = text.row()[0]
    facts = _period(text, row) or {
        "period": "all" if re.search(r" (everything|to date|every|all|todo) ", row) or text.of("place") else "today"
    }
    form = re.search(r" (csv|pdf|spreadsheet|xlsx|excel) ", row)
    if re.search(r" no spreadsheet ", row) and " pdf " in row:
        facts["format"] = "pdf"
    elif form:
        facts["format"] = form.group(1)
    return [Act("ask_report", facts | place_of(text))]


def ask_crew(text: Text, context: Context) -> list[Act]:
    """Who is on."""
    row = text.row()[0]
    facts = date_of(text) | place_of(text)
    if re.search(r" (lead|boss|jefe|encargado) ", row):
        facts["role"] = "lead"
    return [Act("ask_crew", facts or {"date": "today"})]


def language(text: Text, context: Context) -> list[Act]:
    """The language a person wants."""
    row = text.row()[0]
    wants = re.search(
        r" (?:to|in|en|a|talk|habla\w*|switch a) (?:the )?(spanish|english|espanol|castellano|ingles) ", row
    )
    word = wants.group(1) if wants else "spanish" if re.search(r" (spanish|espanol|castellano) ", row) else "english"
    return [Act("language", {"language": "es" if word in {"spanish", "espanol", "castellano"} else "en"})]
