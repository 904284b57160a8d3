"""What is too unsure to be recorded: an act becomes a question with its likeliest readings.

Thresholds stand here and nowhere else; they were set on the labelled messages, leaving one hand out.
"""

from __future__ import annotations

from sitebot.acts import REPORTS, Act, Unclear
from sitebot.understand.context import Context
from sitebot.understand.facts.inspections import is_vague
from sitebot.understand.marks import Text


#: A report whose act is ahead by less than this is asked about.
SURE = 0.5


def unsure(acts: list[Act], margin: float, other: list[Act]) -> Unclear | None:
    """A report that might as well be something else: the two readings to choose from."""
    if not acts or acts[0].name not in REPORTS or margin >= SURE:
        return None
    return Unclear("reading.which", (tuple(acts), tuple(other)), dict(acts[0].facts))


def missing(acts: list[Act], text: Text, context: Context) -> Unclear | None:
    """A report that lacks what it cannot be kept without."""
    for act in acts:
        facts = act.facts
        if act.name == "report_splices" and (facts.get("count") is None or facts.get("clash")):
            return Unclear("splices.clash" if facts.get("clash") else "splices.count", (tuple(acts),), dict(facts))
        if act.name == "report_inspection" and (is_vague(text) or not facts.get("verdict")):
            return Unclear("inspection.which" if facts.get("verdict") else "inspection.verdict", (tuple(acts),), dict(facts))
        if act.name == "report_inspection" and not (facts.get("numbers") or facts.get("place") or facts.get("joint")):
            return Unclear("inspection.which", (tuple(acts),), dict(facts))
        if act.name == "report_sample" and not facts.get("verdict"):
            return Unclear("sample.verdict", (tuple(acts),), dict(facts))
        if act.name == "report_rework" and not facts.get("numbers"):
            return Unclear("rework.which", (tuple(acts),), dict(facts))
        if act.name == "amend" and not facts.get("void") and not facts.get("change"):
            return Unclear("amend.what", (tuple(acts),), dict(facts))
        if act.name == "ask_cut" and not set(facts) & {"turn_deg", "inside_deg", "legs_deg", "flat_turn_deg", "number_deg"}:
            return Unclear("cut.angle", (tuple(acts),), dict(facts))
        if act.name == "report_damage" and not (facts.get("numbers") or facts.get("place")):
            return Unclear("damage.where", (tuple(acts),), dict(facts))
    return None

