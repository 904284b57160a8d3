"""What a text tells beside its chief matter: a heat before a sample's verdict, an end that is no day off."""

from __future__ import annotations

import re
from dataclasses import replace

from sitebot.acts import Act
from sitebot.understand.followup.talk import HEATS
from sitebot.understand.followup.words import either, says
from sitebot.understand.marks import Text


def beside(text: Text, row: str, acts: list[Act]) -> list[Act]:
    """The acts, completed."""
    out = [_joined(_storied(_climbing(_ended(act, row), row), row), row) for act in acts]
    names = {a.name for a in acts}
    if {"report_sample", "report_iron"} <= names:
        return [replace(a, facts={**a.facts, "read": True}) if a.name == "report_sample" else a for a in out]
    if any(a.name == "report_sample" and a.facts.get("temp_f") for a in acts):
        return out  # kept with the sample
    hit = re.match(r"\W*(\d{3})(?: f)?(?: on the iron| en la plancha)? ?[,.]", row)
    if "report_sample" in names and "report_iron" not in names and hit and int(hit[1]) in HEATS:
        return [*out, Act("report_iron", {"event": "reading", "temp_f": int(hit[1])})]
    return out + (_read_too(text) if "report_sample" in names and "report_iron" not in names else [])


def _read_too(text: Text) -> list[Act]:
    """ "iron 2 373 and its sample passed too": a heat told in a clause of its own before the sample is a reading."""
    heats, samples = text.of("temp"), list(text.find("sample"))
    if not heats or not samples or heats[0].end > samples[0][0]:
        return []
    between = {text.word(i) for i in range(heats[0].end, samples[0][0])}
    if not between & {",", ".", ";", "and", "y", "n", "but", "pero"}:
        return []
    irons = [m for m in text.of("iron") if m.end <= samples[0][0]]
    iron = {"iron": irons[0].value} if len(irons) == 1 else {}
    return [Act("report_iron", {"event": "reading", "temp_f": heats[0].value, **iron})]


def _storied(act: Act, row: str) -> Act:
    """ "what happened to 3": the whole story, not only how it stands."""
    return (
        replace(act, facts={**act.facts, "history": True}) if act.name == "ask_splice" and says("story", row) else act
    )


def _joined(act: Act, row: str) -> Act:
    """ "Beto joins the crew": he comes to those who are there."""
    named = act.facts.get("who") or act.facts.get("crew")
    if act.name != "set_crew" or not named or not says("joins", row):
        return act
    facts = {k: v for k, v in act.facts.items() if k not in ("who", "crew")}
    return replace(act, facts={**facts, "add": named})


def _climbing(act: Act, row: str) -> Act:
    """ "turns 90 flat and climbs 45": one joint with a turn in both planes."""
    hit = re.search(rf"\b{either('turn')} (\d+)(?: \w+){{0,8}} {either('climb')} (\d+)\b", row)
    if act.name != "ask_cut" or hit is None:
        return act
    angles = {"flat_turn_deg": float(hit[1]), "edge_turn_deg": float(hit[2])}
    return replace(act, facts={"joint": "turn", "plane": "compound", **angles})


def _ended(act: Act, row: str) -> Act:
    """ "knock off at 2 today" is an end, not a day off."""
    hit = re.search(rf"\b{either('ends')}(?: \w+)? (?:at|a las) (\d{{1,2}})(?::(\d\d))?\b", row)
    if act.name != "plan_day" or hit is None or act.facts.get("start"):
        return act
    hour = int(hit[1]) + 12 if int(hit[1]) < 8 else int(hit[1])  # a quitting time without am or pm
    facts = {k: v for k, v in act.facts.items() if k != "no_work"}
    return replace(act, facts={**facts, "end": f"{hour % 24:02d}:{int(hit[2] or 0):02d}"})
