"""The hours of a day: asked for in a few words, moved once more after they were moved, when to plug in for them."""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, begins, says
from sitebot.understand.marks import Text

#: A quitting time without am or pm is one of the afternoon before this hour.
NO_END_BEFORE = 8
_SHORT = 5


def asked(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "what time we startin tmrw", "what time monday", "mon back to normal?", "when do i plug in tomorrow"."""
    if text.of("time", "n", "iron", "place") or not (asks(text) or says("hours_asked", row)):
        return None
    date = {"date": text.of("date")[0].value} if text.of("date") else {}
    if says("hours_asked", row) and says("plug_in", row):
        last = last_act(context, "ask_day", "plan_day")
        before = {"date": last.facts["date"]} if last and last is last_act(context) and last.facts.get("date") else {}
        return [Act("ask_day", {**before, **date, "of": "preheat"})]
    bare = bool(date) and says("hours_asked", row) and len(text.tokens) <= _SHORT
    if says("hours_not", row) or not (says("hours", row) or bare or (says("hours_asked", row) and says("ends", row))):
        return None
    return [Act("ask_day", date)]


def moved_again(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "scratch that, quit at 1:30", "no, 9": the hour just set is another one."""
    last = last_act(context)
    if last is None or last.name != "plan_day" or asks(text) or text.of("iron", "place", "temp", "range"):
        return None
    key = next((k for k in ("end", "start") if last.facts.get(k)), "")
    if not key or not any(begins(k, row) for k in ("correcting", "no", "meant")):
        return None
    clocks = [str(m.value) for m in text.of("time")]
    hit = re.search(rf"(?<![\w:/])(\d{{1,2}})(?: am| pm)?(?: {any_of(['instead'])})?\W*$", row)
    clock = clocks[0] if len(clocks) == 1 else f"{int(hit[1]):02d}:00" if hit and int(hit[1]) < 24 else ""
    if len(clocks) > 1 or not re.fullmatch(r"\d\d:\d\d", clock):
        return None
    key = "end" if says("ends", row) else "start" if says("hours", row) else key
    if key == "end" and int(clock[:2]) < NO_END_BEFORE and not re.search(r"\d ?am\b", row):
        clock = f"{int(clock[:2]) + 12}{clock[2:]}"
    date = {"date": text.of("date")[0].value} if text.of("date") else {}
    kept = {k: v for k, v in last.facts.items() if k in ("date", "who")}
    return [Act("plan_day", {**kept, **date, key: clock})]
