"""What every answer about a cut adds: the mark, a saw that stops short, the fit tool, the source; how to ask back.

The cut itself is worked out in cuts.py and fittings.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitebot.acts import Unclear
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.trade import marks
from sitebot.trade.cuts import Setting

#: Beyond this a piece on the saw is longer than a picture is wide.
MOST_DRAWN_DEG = 80.0


def degrees(angle: float, digits: int = 2) -> float | int:
    """An angle as it is said: whole where it is whole."""
    rounded = round(angle, digits)
    return int(rounded) if rounded == int(rounded) else rounded


def ask(key: str, **values: object) -> Answer:
    return Answer(says=(Say(key, values),), outcome="ask_back", asks=Unclear(key, (), values))


def drawable(setting: Setting, **picture: object) -> dict[str, object] | None:
    """A picture, unless the cut is so long that none can be read."""
    return picture if max(setting.miter_deg, setting.bevel_deg) <= MOST_DRAWN_DEG else None


def extras(facts: Mapping[str, Any], setting: Setting, desk: Desk) -> tuple[Say, ...]:
    """The site's word on field fittings where it forbids them, and a saw that may stop short."""
    says: list[Say] = []
    if desk.site.field_fittings == "not allowed":
        says.append(Say("cuts.shop_made"))
    if max(setting.miter_deg, setting.bevel_deg) > float(facts.get("saw_stop_deg") or marks.USUAL_STOP_DEG):
        says.append(Say("cuts.past_stop"))
    return tuple(says)


def mark(facts: Mapping[str, Any], setting: Setting, desk: Desk) -> tuple[Say, ...]:
    """Where to draw the line, where the width is known."""
    width = _width_in(facts, desk)
    is_drawn = width and 0 < setting.miter_deg <= MOST_DRAWN_DEG
    return (_mark(width, setting.miter_deg, desk),) if width and is_drawn else ()


def _mark(width_in: float, miter_deg: float, desk: Desk) -> Say:
    offset = marks.mark_offset(width_in, miter_deg)
    if desk.site.units == "metric":
        return Say("cuts.mark_mm", {"width": round(25.4 * width_in), "offset": round(25.4 * offset)})
    return Say("cuts.mark", {"width": degrees(width_in), "offset": degrees(offset)})


def fitting_note(desk: Desk) -> Say | None:
    """What the first cut answer of a day adds where nobody has said whether corners may be made in the field."""
    return Say("cuts.field_fittings") if desk.site.field_fittings == "ask" else None


def how(setting: Setting, facts: Mapping[str, Any], desk: Desk) -> tuple[Say, ...]:
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
