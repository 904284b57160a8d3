"""Answers "what do I cut?": saw settings for turns, with the arithmetic for "why?"; tees and crosses are fittings.py's.

The geometry is trade/cuts.py and trade/space.py; here its figures become sentences. Nothing is read from the record.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.fittings import FITTINGS, fitting
from sitebot.respond.saw import ask, degrees, drawable, extras, how, mark
from sitebot.trade import cuts, space

#: A turn beyond is likelier misheard than meant (common practice).
MOST_LIKELY_TURN_DEG = 150.0
#: A roll below this is lost in the weld (common practice: about what a pair of hands can hold).
LEAST_ROLL_DEG = 0.5


def answer(act: Act, desk: Desk) -> Answer:
    """The saw setting that was asked for, or the one question that has to come first."""
    facts = act.facts
    if facts.get("joint") in FITTINGS:
        return fitting(facts, desk)
    if facts.get("plane") == "compound" or "edge_turn_deg" in facts:
        return _compound(facts, desk)
    if facts.get("joint") == "straight":
        return _straight(facts, desk)
    return _turn(facts, desk)


def _straight(facts: Mapping[str, Any], desk: Desk) -> Answer:
    known = {**facts, "joint": "straight", "turn_deg": 0, "inside_deg": 180, "miter_deg": 0, "bevel_deg": 0}
    return Answer(
        says=(Say("cuts.straight"),),
        why=(Say("cuts.why_straight"), *how(cuts.Setting(0), facts, desk)),
        facts=known,
        picture={"drawing": "straight"},
    )


def _turn(facts: Mapping[str, Any], desk: Desk) -> Answer:
    turn = _turn_deg(facts)
    if turn is None:
        return _ask_which(facts)
    if not 0 <= turn < 180 or _contradicts(facts, turn):
        return ask("cuts.no_such_turn", number=degrees(turn))
    if turn == 0:
        return _straight(facts, desk)
    if turn > MOST_LIKELY_TURN_DEG and not facts.get("confirmed"):
        return _ask_folded(facts, turn)
    plane = facts.get("plane") if facts.get("plane") in ("flat", "edge") else "unknown"
    setting = cuts.edge_turn(turn) if plane == "edge" else cuts.flat_turn(turn)
    half = degrees(turn / 2)
    values = {"cut": half, "turn": degrees(turn), "inside": degrees(180 - turn)}
    known = {
        **facts,
        "joint": "turn",
        "plane": plane,
        "turn_deg": degrees(turn),
        "inside_deg": degrees(180 - turn),
        "miter_deg": degrees(setting.miter_deg),
        "bevel_deg": degrees(setting.bevel_deg),
    }
    return Answer(
        says=(Say(f"cuts.turn_{plane}", values), *extras(facts, setting, desk)),
        aside=mark(facts, setting, desk),
        why=(Say("cuts.why_turn", values), *how(setting, facts, desk)),
        facts=known,
        picture=drawable(setting, drawing="turn", turn_deg=turn, plane="edge" if plane == "edge" else "flat"),
    )


def _turn_deg(facts: Mapping[str, Any]) -> float | None:
    """The turn off straight, from whichever way it was said; a bare 90 is 90 in any case."""
    number = facts.get("number_deg")
    if number is not None and number not in (90, facts.get("turn_deg"), facts.get("inside_deg")):
        # A new bare number overrides what an earlier question left behind.
        return None
    if facts.get("turn_deg") is not None:
        return float(facts["turn_deg"])
    if facts.get("inside_deg") is not None and 0 < facts["inside_deg"] < 360:
        return cuts.turn_of_inside(float(facts["inside_deg"]))
    if facts.get("flat_turn_deg") is not None:
        return float(facts["flat_turn_deg"])
    if facts.get("number_deg") == 90:
        return 90.0
    # "cut at 15 already, what turn is that": the cut is given, the turn asked for.
    miter = facts.get("miter_deg")
    return 2.0 * miter if isinstance(miter, int | float) and "number_deg" not in facts else None


def _contradicts(facts: Mapping[str, Any], turn: float) -> bool:
    inside = facts.get("inside_deg")
    return inside is not None and abs(abs(180 - float(inside)) - turn) > 0.51


def _ask_which(facts: Mapping[str, Any]) -> Answer:
    """A bare number is a turn or an inside angle; both results are named, neither is taken."""
    number = facts.get("number_deg")
    if number is None:
        return ask("cuts.how_many_degrees")
    if not 0 < number < 180:
        return ask("cuts.no_such_turn", number=degrees(number))
    rest = {k: v for k, v in facts.items() if not k.endswith("_deg")}
    readings = tuple((Act("ask_cut", {**rest, "joint": "turn", key: number}),) for key in ("turn_deg", "inside_deg"))
    values = {
        "number": degrees(number),
        "as_turn": degrees(number / 2),
        "as_inside": degrees((180 - number) / 2),
    }
    return Answer(
        says=(Say("cuts.turn_or_inside", values),),
        outcome="ask_back",
        asks=Unclear("cuts.turn_or_inside", readings, values),
        facts=dict(facts),
        why=(Say("cuts.why_which", values),),
    )


def _ask_folded(facts: Mapping[str, Any], turn: float) -> Answer:
    """A turn that folds the run back on itself is likelier an inside angle said as a turn, or misread."""
    values = {"turn": degrees(turn), "other": degrees(180 - turn), "as_inside": degrees((180 - turn) / 2)}
    rest = {k: v for k, v in facts.items() if not k.endswith("_deg")}
    readings = (
        (Act("ask_cut", {**rest, "joint": "turn", "inside_deg": turn}),),
        (Act("ask_cut", {**rest, "joint": "turn", "turn_deg": turn, "confirmed": True}),),
    )
    asks = Unclear("cuts.nearly_folded", readings, values)
    return Answer(says=(Say("cuts.nearly_folded", values),), outcome="ask_back", asks=asks)


def _compound(facts: Mapping[str, Any], desk: Desk) -> Answer:
    flat, edge = facts.get("flat_turn_deg"), facts.get("edge_turn_deg")
    if flat is None or edge is None:
        return ask("cuts.compound_angles")
    if not (0 <= flat < 180 and 0 <= abs(edge) < 90):
        return ask("cuts.no_such_turn", number=degrees(flat if flat >= 180 else edge))
    joint = space.compound_turn(float(flat), float(edge))
    cut = joint.first
    values = {
        "flat": degrees(flat),
        "edge": degrees(edge),
        "miter": degrees(cut.miter_deg, 1),
        "bevel": degrees(cut.bevel_deg, 1),
        "roll": degrees(abs(joint.twist_deg), 1),
        "half_flat": degrees(flat / 2),
        "half_edge": degrees(abs(edge) / 2),
    }
    key = "cuts.compound_rolled" if abs(joint.twist_deg) >= LEAST_ROLL_DEG else "cuts.compound"
    setting = cuts.Setting(cut.miter_deg, cut.bevel_deg)
    known = {
        **facts,
        "joint": "turn",
        "plane": "compound",
        "miter_deg": round(cut.miter_deg, 2),
        "bevel_deg": round(cut.bevel_deg, 2),
        "twist_deg": round(joint.twist_deg, 2),
    }
    return Answer(
        says=(Say(key, values), *extras(facts, setting, desk)),
        aside=mark(facts, setting, desk),
        why=(Say("cuts.why_compound", values), Say("cuts.hands", _hands(joint)), *how(setting, facts, desk)),
        facts=known,
        picture=drawable(setting, drawing="compound", flat_turn_deg=float(flat), edge_turn_deg=float(edge)),
    )


def _hands(joint: space.SpaceJoint) -> dict[str, object]:
    """Which hand to swing and lean to, for the piece kept on the left; the other is its mirror."""
    sides = {
        "left": {"en": "left", "es": "izquierda"},
        "right": {"en": "right", "es": "derecha"},
        "none": {"en": "neither", "es": "ninguna"},
    }
    return {"swing": sides[joint.first.swing], "tilt": sides[joint.first.tilt]}
