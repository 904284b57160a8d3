"""The heat band of the site: its approved procedure, else common practice from the rules."""

from __future__ import annotations

import re

from sitebot.errors import DataError
from sitebot.message import Say, Term
from sitebot.respond.desk import Desk
from sitebot.rulebook.amounts import Amount, in_unit

TEMPERATURE_RULE = "practice.weld_heat"


def heat_band(desk: Desk) -> tuple[float, float]:
    """Lowest and highest welding heat [F]: of the site's procedure, else of the rule of common practice."""
    if own := desk.site.procedure.get("temperature"):
        return _band(own.value)
    limit = desk.rules.rule(TEMPERATURE_RULE).limits[0]
    if not isinstance(limit.min, Amount) or not isinstance(limit.max, Amount):
        raise DataError("rules/practice/weld_heat.yaml: limits[0] needs min and max. Give both in F.")
    return float(in_unit(limit.min, "F")), float(in_unit(limit.max, "F"))


def _band(text: str) -> tuple[float, float]:
    low, high = (float(x) for x in re.findall(r"\d+(?:\.\d+)?", text)[:2])
    if re.search(r"\d\s*(?:deg\s*)?C\b", text):
        return low * 9 / 5 + 32, high * 9 / 5 + 32
    return low, high


def heat_remark(temp_f: float, desk: Desk) -> Say | None:
    """A word of warning where a heat is outside the band."""
    low, high = heat_band(desk)
    values = {"temp": round(temp_f), "low": round(low), "high": round(high)}
    if temp_f > high:
        return Say("heat.above", values)
    return Say("heat.below", values) if temp_f < low else None


def way_said(way: object) -> Term | None:
    """How a heat was measured; nothing where nobody told."""
    return Term(f"temp_by.{way}") if way else None
