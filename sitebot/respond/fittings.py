"""Answers about tees, crosses and wyes: two cuts on each leg, each half way into its gap.

Reached through cuts.py, which answers turns.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.saw import ask, degrees, drawable, extras, how, mark
from sitebot.trade import cuts

FITTINGS = ("tee", "cross", "wye")
#: A gap below is likelier misheard than meant (common practice).
LEAST_LIKELY_GAP_DEG = 25.0


def fitting(facts: Mapping[str, Any], desk: Desk) -> Answer:
    """A tee, cross or wye: two cuts on each leg, each half way into its gap."""
    kind = str(facts["joint"])
    if facts.get("plane") == "compound" or "edge_turn_deg" in facts:
        return ask("cuts.fitting_in_space")
    try:
        gaps = cuts.complete_gaps(kind, [float(g) for g in facts.get("legs_deg") or ()])
    except ValueError:
        return ask("cuts.gaps_do_not_add", total=degrees(sum(facts.get("legs_deg") or ())))
    if min(gaps) < LEAST_LIKELY_GAP_DEG:
        return ask("cuts.sharp_gap", gap=degrees(min(gaps)), cut=degrees(90 - min(gaps) / 2))
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
        says=(*says, *extras(facts, largest, desk)),
        aside=mark(facts, largest, desk),
        why=(*map(_why_gap, dict.fromkeys(gaps)), *how(largest, facts, desk)),
        facts=known,
        picture=None if on_edge else drawable(largest, drawing=kind, legs_deg=list(gaps)),
    )


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
