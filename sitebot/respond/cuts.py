"""Answers "what do I cut?": saw settings for turns, tees, crosses and wyes, with the arithmetic for "why?".

The geometry is trade/cuts.py and trade/space.py; here its figures become sentences. Nothing is read from the record.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.trade import cuts, marks, space

FITTINGS = ("tee", "cross", "wye")
#: Beyond this a piece on the saw is longer than a picture is wide.
MOST_DRAWN_DEG = 80.0
#: A roll below this is lost in the weld (common practice: about what a pair of hands can hold).
LEAST_ROLL_DEG = 0.5


def answer(act: Act, desk: Desk) -> Answer:
    """The saw setting that was asked for, or the one question that has to come first."""
    facts = act.facts
    if facts.get("joint") in FITTINGS:
        return _fitting(facts, desk)
    if facts.get("plane") == "compound" or "edge_turn_deg" in facts:
        return _compound(facts, desk)
    if facts.get("joint") == "straight":
        return _straight(facts, desk)
    return _turn(facts, desk)


def degrees(angle: float, digits: int = 2) -> float | int:
    """An angle as it is said: whole where it is whole."""
    rounded = round(angle, digits)
    return int(rounded) if rounded == int(rounded) else rounded


def _straight(facts: Mapping[str, Any], desk: Desk) -> Answer:
    known = {**facts, "joint": "straight", "turn_deg": 0, "inside_deg": 180, "miter_deg": 0, "bevel_deg": 0}
    return Answer(
        says=(Say("cuts.straight"),),
        why=(Say("cuts.why_straight"), *_how(cuts.Setting(0), facts, desk)),
        facts=known,
        picture={"drawing": "straight"},
    )


def _turn(facts: Mapping[str, Any], desk: Desk) -> Answer:
    turn = _turn_deg(facts)
    if turn is None:
        return _ask_which(facts)
    if not 0 <= turn < 180 or _contradicts(facts, turn):
        return _ask("cuts.no_such_turn", number=degrees(turn))
    if turn == 0:
        return _straight(facts, desk)
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
        says=(Say(f"cuts.turn_{plane}", values), *_extras(facts, setting, desk)),
        why=(Say("cuts.why_turn", values), *_how(setting, facts, desk)),
        facts=known,
        picture=_drawable(setting, drawing="turn", turn_deg=turn, plane="edge" if plane == "edge" else "flat"),
    )


def _turn_deg(facts: Mapping[str, Any]) -> float | None:
    """The turn off straight, from whichever way it was said; a bare 90 is 90 in any case."""
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
        return _ask("cuts.how_many_degrees")
    if not 0 < number < 180:
        return _ask("cuts.no_such_turn", number=degrees(number))
    rest = {k: v for k, v in facts.items() if k not in ("number_deg", "miter_deg", "bevel_deg")}
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


def _ask(key: str, **values: object) -> Answer:
    return Answer(says=(Say(key, values),), outcome="ask_back", asks=Unclear(key, (), values))


def _compound(facts: Mapping[str, Any], desk: Desk) -> Answer:
    flat, edge = facts.get("flat_turn_deg"), facts.get("edge_turn_deg")
    if flat is None or edge is None:
        return _ask("cuts.compound_angles")
    if not (0 <= flat < 180 and 0 <= abs(edge) < 90):
        return _ask("cuts.no_such_turn", number=degrees(flat if flat >= 180 else edge))
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
        says=(Say(key, values), *_extras(facts, setting, desk)),
        why=(Say("cuts.why_compound", values), Say("cuts.hands", _hands(joint)), *_how(setting, facts, desk)),
        facts=known,
        picture=_drawable(setting, drawing="compound", flat_turn_deg=float(flat), edge_turn_deg=float(edge)),
    )


def _hands(joint: space.SpaceJoint) -> dict[str, object]:
    """Which hand to swing and lean to, for the piece kept on the left; the other is its mirror."""
    sides = {
        "left": {"en": "left", "es": "izquierda"},
        "right": {"en": "right", "es": "derecha"},
        "none": {"en": "neither", "es": "ninguna"},
    }
    return {"swing": sides[joint.first.swing], "tilt": sides[joint.first.tilt]}


def _fitting(facts: Mapping[str, Any], desk: Desk) -> Answer:
    """A tee, cross or wye: two cuts on each leg, each half way into its gap."""
    kind = str(facts["joint"])
    if facts.get("plane") == "compound" or "edge_turn_deg" in facts:
        return _ask("cuts.fitting_in_space")
    try:
        gaps = cuts.complete_gaps(kind, [float(g) for g in facts.get("legs_deg") or ()])
    except ValueError:
        return _ask("cuts.gaps_do_not_add", total=degrees(sum(facts.get("legs_deg") or ())))
    found = [degrees(c) for c in cuts.cuts_of_gaps(gaps)]
    on_edge = facts.get("plane") == "edge"
    known = {
        **facts,
        "legs_deg": [degrees(g) for g in gaps],
        "miter_deg": [0] if on_edge else found,
        "bevel_deg": found if on_edge else [0],
    }
    says = _leg_says(kind, gaps)
    if on_edge:
        says = (*says, Say("cuts.fitting_on_edge"))
    largest = cuts.Setting(max(found))
    return Answer(
        says=(*says, *_extras(facts, largest, desk)),
        why=(*map(_why_gap, dict.fromkeys(gaps)), *_how(largest, facts, desk)),
        facts=known,
        picture=None if on_edge else _drawable(largest, drawing=kind, legs_deg=list(gaps)),
    )


def _drawable(setting: cuts.Setting, **picture: object) -> dict[str, object] | None:
    """A picture, unless the cut is so long that none can be read."""
    return picture if max(setting.miter_deg, setting.bevel_deg) <= MOST_DRAWN_DEG else None


def _why_gap(gap: float) -> Say:
    key = "cuts.why_gap" if gap < 180 else "cuts.why_back" if gap == 180 else "cuts.why_wide_gap"
    return Say(key, {"gap": degrees(gap), "half": degrees(gap / 2), "cut": degrees(abs(90 - gap / 2))})


def _leg_says(kind: str, gaps: tuple[float, ...]) -> tuple[Say, ...]:
    """The usual joints in one sentence; any other leg by leg, each pair of gaps once."""
    values = {"cut": degrees(90 - min(gaps) / 2), "wide_cut": degrees(90 - sorted(gaps)[1] / 2)}
    values |= {"gap": degrees(min(gaps)), "wide_gap": degrees(sorted(gaps)[1])}
    if kind == "tee" and gaps.count(180) == 1:
        return (Say("cuts.tee_square" if gaps.count(90) == 2 else "cuts.tee_skew", values),)
    if len(set(gaps)) == 1:
        return (Say(f"cuts.{kind}_even", values),)
    if kind == "cross" and len(set(gaps)) == 2 and gaps[0] == gaps[2]:
        values |= {"wide_cut": degrees(90 - max(gaps) / 2), "wide_gap": degrees(max(gaps))}
        return (Say("cuts.cross_skew", values),)
    legs = {tuple(sorted((leg.gap_before_deg, leg.gap_after_deg))): leg for leg in cuts.flat_joint(gaps)}
    return (Say("cuts.each_leg"), *(_leg_say(*pair) for pair in legs))


def _leg_say(gap: float, other: float) -> Say:
    values = {
        "gap": degrees(gap),
        "other": degrees(other),
        "cut": degrees(abs(90 - gap / 2)),
        "other_cut": degrees(abs(90 - other / 2)),
    }
    if other > 180:
        return Say("cuts.leg_wide", values)
    return Say("cuts.leg_even" if gap == other else "cuts.leg", values)


def _extras(facts: Mapping[str, Any], setting: cuts.Setting, desk: Desk) -> tuple[Say, ...]:
    """The site's word on field fittings, the mark to draw where the width is known, a saw that may stop short."""
    says: list[Say] = []
    if desk.site.field_fittings == "not allowed":
        says.append(Say("cuts.shop_made"))
    width = _width_in(facts, desk)
    if width and 0 < setting.miter_deg <= MOST_DRAWN_DEG:
        says.append(_mark(width, setting.miter_deg, desk))
    if max(setting.miter_deg, setting.bevel_deg) > float(facts.get("saw_stop_deg") or marks.USUAL_STOP_DEG):
        says.append(Say("cuts.past_stop"))
    return tuple(says)


def _mark(width_in: float, miter_deg: float, desk: Desk) -> Say:
    offset = marks.mark_offset(width_in, miter_deg)
    if desk.site.units == "metric":
        return Say("cuts.mark_mm", {"width": round(25.4 * width_in), "offset": round(25.4 * offset)})
    return Say("cuts.mark", {"width": degrees(width_in), "offset": degrees(offset)})


def fitting_note(desk: Desk) -> Say | None:
    """What the first cut answer of a day adds where nobody has said whether corners may be made in the field."""
    return Say("cuts.field_fittings") if desk.site.field_fittings == "ask" else None


def _how(setting: cuts.Setting, facts: Mapping[str, Any], desk: Desk) -> tuple[Say, ...]:
    """What a degree costs, the block for a saw that stops short, the tool that is fit, and the source."""
    says: list[Say] = []
    width = _width_in(facts, desk)
    if width and 0 < setting.miter_deg <= MOST_DRAWN_DEG:
        says.append(_error_cost(width, setting.miter_deg))
    stop = float(facts.get("saw_stop_deg") or marks.USUAL_STOP_DEG)
    block = marks.fence_block(setting.miter_deg, stop) if setting.miter_deg < 85 else None
    if block:
        says.append(Say("cuts.why_block", {"block": degrees(block.block_deg), "swing": degrees(block.swing_deg)}))
    is_square = setting.miter_deg == 0 and setting.bevel_deg == 0
    says.append(Say("cuts.tool_square" if is_square else "cuts.tool_saw"))
    return (*says, Say("cuts.source"))


def _error_cost(width_in: float, miter_deg: float) -> Say:
    gap = marks.error_gap(width_in, miter_deg)
    key = "cuts.why_error_fills" if marks.bead_fills(gap * 0.0254) else "cuts.why_error_open"
    return Say(key, {"width": degrees(width_in), "gap": round(gap, 2), "gap_mm": round(gap * 25.4, 1)})


def _width_in(facts: Mapping[str, Any], desk: Desk) -> float | None:
    """The web's width [in]: as said, or of the site's only profile."""
    if facts.get("width_in"):
        return float(facts["width_in"])
    profiles = desk.site.profiles
    return profiles[0].width_in if len(profiles) == 1 else None
