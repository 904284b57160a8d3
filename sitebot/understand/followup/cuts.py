"""Cuts asked one after the other: a new angle, joint or plane for the one before."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sitebot.acts import REPORTS, Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import first, says
from sitebot.understand.marks import Text

#: Angles between the legs of a plain tee, cross, wye [deg].
_SQUARE = {"tee": [90, 90, 180], "cross": [90, 90, 90, 90], "wye": [120, 120, 120]}


#: What a compound cut is told by.
_COMPOUND = ("joint", "plane", "flat_turn_deg", "edge_turn_deg")


def follow(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "and for 60?", "what if its a tee", "on edge": the cut asked last, with what is new."""
    last = last_act(context)
    if last is None or last.name != "ask_cut" or _speaks_for_itself(acts):
        return None
    if last.facts.get("plane") == "compound" and says("saw_word", row) and not text.of("n", "ang"):
        return [replace(last, facts={k: last.facts[k] for k in _COMPOUND if k in last.facts})]
    own = acts[0] if acts and acts[0].name == "ask_cut" else None
    if own and any(own.facts.get(k) is not None for k in ("turn_deg", "legs_deg", "inside_deg", "flat_turn_deg")):
        known = own.facts.get("plane") not in (None, "unknown")
        return None if known else [_with(own, plane=last.facts.get("plane", "unknown"))]
    joint, plane = first("joint.", row), _plane(row)
    angles = [float(m.value) for m in text.of("ang", "n", "temp") if isinstance(m.value, int | float)]
    if says("report_word", row) or not (joint or angles or plane):
        return None
    return _changed(joint, angles, plane, row, last)


def _speaks_for_itself(acts: list[Act]) -> bool:
    """A report that names a place or a number is no question about angles."""
    matter = bool(acts) and acts[0].name in REPORTS | {"ask_practice"}
    return matter and any(acts[0].facts.get(k) for k in ("numbers", "place", "change"))


def _changed(joint: str | None, angles: list[float], plane: str | None, row: str, last: Act) -> list[Act] | None:
    before = last.facts.get("plane", "unknown")
    if len(angles) >= 3:
        return [Act("ask_cut", {"joint": "wye", "plane": "flat", "legs_deg": angles})]
    if joint in _SQUARE and not angles:
        return [Act("ask_cut", {"joint": joint, "plane": before, "legs_deg": _SQUARE[joint]})]
    if angles:
        return [Act("ask_cut", _new_angle(angles[0], row, last, plane))]
    kept = {k: v for k, v in last.facts.items() if k in ("turn_deg", "inside_deg", "joint", "said_as")}
    return [Act("ask_cut", {**kept, "plane": plane or before})] if kept else None


def _with(act: Act, **facts: Any) -> Act:
    return replace(act, facts={**act.facts, **facts})


def _plane(row: str) -> str | None:
    return "edge" if says("edge", row) else "flat" if says("flat", row) else None


def _new_angle(angle: float, row: str, last: Act, plane: str | None) -> dict[str, Any]:
    """A new number is meant as the last one was: as a turn or as an inside angle; told neither, it stays open."""
    said_as = last.facts.get("said_as")
    if says("inside", row) or "180" in row.split():
        said_as = "inside"
    elif says("turn", row):
        said_as = "turn"
    facts: dict[str, Any] = {"joint": "turn", "plane": plane or last.facts.get("plane", "unknown")}
    if said_as == "inside":
        return {**facts, "inside_deg": angle, "turn_deg": 180 - angle, "said_as": "inside"}
    if angle == 90:
        return {**facts, "turn_deg": 90}
    return {**facts, "turn_deg": angle, "said_as": "turn"} if said_as == "turn" else {**facts, "number_deg": angle}


def remembering(act: Act, row: str) -> Act:
    """A cut keeps how its angle was said, for the next bare number."""
    if act.name != "ask_cut" or "said_as" in act.facts or act.facts.get("number_deg") is not None:
        return act
    if act.facts.get("inside_deg") is not None and says("inside", row):
        return _with(act, said_as="inside")
    return act if act.facts.get("turn_deg") in (None, 90) else _with(act, said_as="turn")
