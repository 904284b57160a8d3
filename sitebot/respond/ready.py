"""Answers "is it hot yet?": by a reading or a melt test; by the clock alone only when it may be, never a yes.

Times are estimates by trade/heat.py; heat and melt test are common practice unless the site's procedure says otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from sitebot.acts import Act
from sitebot.message import Say, Term
from sitebot.record import IronState
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.gate import last_sample
from sitebot.respond.heat import heat_band
from sitebot.respond.iron_names import irons_said
from sitebot.trade import heat as curves

#: Common practice: the melt test, the longest warm-up.
MELT_S = (20.0, 30.0)
WARM_UP_MIN = 60.0
#: A reading in the log older than this says nothing about now [min].
READING_HOLDS_MIN = 20.0
#: Where faces start where nobody measured the air [C].
AIR_C = 20.0
#: Where an iron was unplugged that nobody measured [C], and what it may be handled at [F] (common practice).
USUAL_HOT_C, HANDLE_F = 188.0, 122.0
#: How far back mornings are looked at.
MORNINGS_BACK = 21


@dataclass(frozen=True, slots=True)
class Heat:
    """The heat to weld at and the paper it stands in ('' is common practice)."""

    low_f: float
    high_f: float
    source: str = ""


def weld_heat(desk: Desk) -> Heat:
    """The heat of the site's approved procedure, else of common practice."""
    own = desk.site.procedure.get("temperature")
    return Heat(*heat_band(desk), own.source if own else "")


def warm_up_min(desk: Desk) -> float:
    """How long irons take to heat at the longest [min]: the site's ``preheat``, else an hour."""
    own = desk.site.procedure.get("preheat")
    found = re.search(r"(\d+(?:\.\d+)?)\s*(h)?", own.value) if own else None
    return float(found[1]) * (60 if found[2] else 1) if found else WARM_UP_MIN


def answer(act: Act, desk: Desk) -> Answer:
    """A failed sample is a no, however hot the iron is; else what was measured decides."""
    found = _by_heat(act.facts, desk)
    iron = str(act.facts.get("iron") or "") or None
    sample = last_sample(desk.day, iron, desk) if desk.log.is_kept and desk.person else None
    if sample is None or sample.verdict == "pass" or not found.facts.get("ready"):
        return found
    defect = Term(f"defect.{sample.defect}") if sample.defect else None
    no = Say("ready.sample_failed", {"iron": _said(iron or ""), "defect": defect})
    return replace(found, says=(no,), facts={"ready": False})


def _by_heat(facts: Mapping[str, Any], desk: Desk) -> Answer:
    """Yes and no by what was measured; a time where only the clock is known."""
    heat = weld_heat(desk)
    if facts.get("melt_s") is not None:
        return _by_melt(float(facts["melt_s"]), heat, facts)
    if facts.get("temp_f") is not None:
        return _by_reading(float(facts["temp_f"]), heat, _minutes_on(facts, desk))
    minutes = _minutes_on(facts, desk)
    if minutes is not None:
        return _by_clock(minutes, heat, desk, has_clock="minutes_on" not in facts)
    return _by_log(facts, heat, desk)


def _values(heat: Heat, **more: object) -> dict[str, object]:
    low_c, high_c = round((heat.low_f - 32) / 1.8), round((heat.high_f - 32) / 1.8)
    return {"low": round(heat.low_f), "high": round(heat.high_f), "low_c": low_c, "high_c": high_c, **more}


def _why(heat: Heat, *before: Say) -> tuple[Say, ...]:
    source = Say("ready.source_site", {"source": heat.source}) if heat.source else Say("ready.source")
    return (*before, source)


def _by_reading(temp_f: float, heat: Heat, minutes: float | None, at: datetime | None = None, iron: str = "") -> Answer:
    """A reading decides, limits included; past the warm-up a cold iron points at its supply."""
    reading = round(temp_f)
    values = _values(heat, temp=reading, celsius=round((temp_f - 32) / 1.8), at=at, iron=_said(iron))
    if reading > heat.high_f:
        values["over"] = round(reading - heat.high_f)
        key = "ready.just_over" if reading <= heat.high_f + 5 else "ready.too_hot"
    elif reading < heat.low_f:
        values["under"] = round(heat.low_f - reading)
        key = "ready.stuck" if minutes is not None and minutes >= WARM_UP_MIN else "ready.too_cold"
    else:
        key = "ready.at_the_edge" if reading in (round(heat.low_f), round(heat.high_f)) else "ready.in_range"
    is_ready = key in ("ready.in_range", "ready.at_the_edge")
    return Answer(says=(Say(key, values),), why=_why(heat, Say("ready.why_reading", values)), facts={"ready": is_ready})


def _by_melt(seconds: float, heat: Heat, facts: Mapping[str, Any]) -> Answer:
    """A scrap that begins to melt in 20-30 s; a reading told in the same breath must agree."""
    values = _values(heat, seconds=round(seconds))
    temp = facts.get("temp_f")
    if temp is not None and not heat.low_f <= temp <= heat.high_f:
        return _by_reading(float(temp), heat, None)
    key = "ready.melt_good" if MELT_S[0] <= seconds <= MELT_S[1] else "ready.melt_slow"
    if seconds < MELT_S[0]:
        key = "ready.melt_fast"
    why = _why(heat, Say("ready.why_melt", values))
    return Answer(says=(Say(key, values),), why=why, facts={"ready": key == "ready.melt_good"})


def _minutes_on(facts: Mapping[str, Any], desk: Desk) -> float | None:
    """Minutes since it was plugged in, from minutes or a clock time; below 0 where that lies ahead."""
    if facts.get("minutes_on") is not None:
        return float(facts["minutes_on"]) + (desk.now - desk.said_at).total_seconds() / 60
    clock = re.fullmatch(r"(\d{1,2}):(\d\d)", str(facts.get("plugged_at") or facts.get("at") or ""))
    if not clock:
        return None
    plugged = desk.said_at.replace(hour=int(clock[1]) % 24, minute=int(clock[2]), second=0, microsecond=0)
    if plugged - desk.said_at > timedelta(hours=12):
        plugged -= timedelta(days=1)
    return (desk.now - plugged).total_seconds() / 60


def _by_clock(minutes: float, heat: Heat, desk: Desk, iron: str = "", has_clock: bool = False) -> Answer:
    """Time alone is never a yes."""
    longest = warm_up_min(desk)
    plugged = desk.now - timedelta(minutes=minutes)
    values = _values(
        heat,
        iron=_said(iron),
        minutes=round(minutes),
        longest=round(longest),
        plugged=plugged.time(),
        at=(plugged + timedelta(minutes=longest)).time(),
    )
    key = "ready.not_yet" if minutes < longest else "ready.hour_up"
    if minutes < -0.5:
        key = "ready.will_be"
    elif minutes >= longest and has_clock:
        key = "ready.was_due"
    return Answer(says=(Say(key, values),), why=_why(heat, Say("ready.why_clock", values)), facts={"ready": False})


def _by_log(facts: Mapping[str, Any], heat: Heat, desk: Desk) -> Answer:
    """What the log knows of that iron, or of all that are on."""
    wanted = str(facts.get("iron") or "").lower()
    named = wanted not in ("", "all")
    irons = [i for i in desk.log.irons() if (i.on or named) and (not named or i.iron.lower() == wanted)]
    if not irons:
        values = _values(heat, iron=_said(str(facts["iron"])) if named else None, longest=round(warm_up_min(desk)))
        return Answer(says=(Say("ready.unknown", values),), why=_why(heat), facts={"ready": False})
    answers = [_of_iron(iron, heat, desk) for iron in irons]
    ready = all(a.facts["ready"] for a in answers)
    return Answer(says=_alike_as_one(answers, irons), why=answers[0].why, facts={"ready": ready})


def _alike_as_one(answers: Sequence[Answer], irons: Sequence[IronState]) -> tuple[Say, ...]:
    """Two irons plugged in together get one sentence, not the same one twice."""
    plain = [[replace(s, values={**s.values, "iron": ""}) for s in a.says] for a in answers]
    if any(p != plain[0] for p in plain):
        return tuple(s for a in answers for s in a.says)
    both = irons_said([i.iron for i in irons if i.iron])
    return tuple(replace(s, values={**s.values, "iron": both}) for s in answers[0].says)


def _said(iron: str) -> Say | None:
    return irons_said([iron]) if iron else None


def _of_iron(iron: IronState, heat: Heat, desk: Desk) -> Answer:
    """A fresh reading decides; an older one and past mornings say when to read again."""
    read_at = iron.read_at.astimezone(desk.site.tz) if iron.read_at else None
    iron = replace(iron, since=iron.since.astimezone(desk.site.tz), read_at=read_at)
    minutes = (desk.now - iron.since).total_seconds() / 60
    if not iron.on:
        hot_c = _celsius(iron.temp_f) if iron.temp_f and iron.temp_f > HANDLE_F else USUAL_HOT_C
        cold = iron.since + timedelta(seconds=curves.safe_to_pack_s(hot_c, AIR_C, _celsius(HANDLE_F)) or 0)
        values = _values(heat, iron=_said(iron.iron), off=iron.since.time(), at=cold.time())
        key = "ready.off_still_hot" if desk.now < cold else "ready.off"
        return Answer(says=(Say(key, values),), why=_why(heat, Say("ready.why_cool")), facts={"ready": False})
    fresh = iron.temp_f is not None and iron.read_at is not None and iron.read_at >= iron.since
    if fresh and iron.read_at and desk.now - iron.read_at <= timedelta(minutes=READING_HOLDS_MIN):
        decided = _by_reading(iron.temp_f or 0.0, heat, minutes, iron.read_at, iron.iron)
        if decided.facts["ready"] or (iron.temp_f or 0.0) > heat.high_f:
            return decided
        return replace(decided, says=(*decided.says, *_when(iron, heat, desk)))
    if fresh and minutes >= warm_up_min(desk):
        values = _values(heat, iron=_said(iron.iron), temp=round(iron.temp_f or 0), at=iron.read_at)
        return Answer(says=(Say("ready.old_reading", values),), why=_why(heat), facts={"ready": False})
    learned = _when(iron, heat, desk) if minutes < warm_up_min(desk) else ()
    waiting = _by_clock(minutes, heat, desk, iron.iron)
    return replace(waiting, says=learned or waiting.says)


def _when(iron: IronState, heat: Heat, desk: Desk) -> tuple[Say, ...]:
    """An estimate from today's readings and past mornings of that iron; nothing where there is neither."""
    events = [e for e in desk.log.iron_events(desk.now.strftime("%Y-%m-%d")) if e.iron == iron.iron]
    readings = [
        curves.Reading((e.at - iron.since).total_seconds(), _celsius(e.temp_f))
        for e in events
        if e.event == "reading" and e.temp_f is not None and e.at > iron.since
    ]
    mornings = past_warm_ups_s(desk, iron.iron, heat)
    if not readings and len(mornings) < 2:
        return ()
    found = curves.ready(readings, AIR_C, _celsius(heat.low_f), curves.learned(mornings))
    likely, late = (iron.since + timedelta(seconds=t) for t in (found.likely_s, found.late_s))
    if late <= desk.now:
        return ()
    values = _values(
        heat, iron=_said(iron.iron), likely=likely, late=late, readings=len(readings), mornings=len(mornings)
    )
    return (Say("ready.estimate" if likely > desk.now else "ready.estimate_soon", values),)


def past_warm_ups_s(desk: Desk, iron: str, heat: Heat) -> list[float]:
    """From plug-in to the first word that it was hot, on the mornings of the last three weeks."""
    found: list[float] = []
    for back in range(1, MORNINGS_BACK + 1):
        plugged: datetime | None = None
        for event in desk.log.iron_events((desk.now - timedelta(days=back)).strftime("%Y-%m-%d")):
            if event.iron != iron:
                continue
            if event.event == "plugged_in":
                plugged = event.at
            elif plugged and (event.event == "hot" or (event.temp_f or 0) >= heat.low_f):
                found.append((event.at - plugged).total_seconds())
                break
    return [seconds for seconds in found if seconds > 300]


def _celsius(temp_f: float | None) -> float:
    return ((temp_f or 0.0) - 32) / 1.8
