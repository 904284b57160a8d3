"""After a question whether a splice may stay: another measure, the thickness asked for, another defect, the verdict.

The question before is asked again with what is new; what the reader makes of the words stays the reader's.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts.acceptance import ask_acceptance
from sitebot.understand.facts.defects import first_defect
from sitebot.understand.followup.talk import asks, numbers_of
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, begins, either, says
from sitebot.understand.marks import Text

#: Follow-ups of these say hardly more than the measure.
MOST_WORDS = 12
#: A bare number is no measure beyond these.
_LARGEST = {"mm": 15, "in": 1, "%": 110}
#: What a former answer found out of the facts, and what goes with another measure or defect.
_FOUND = ("verdict", "at_limit", "rule", "rule_hash", "present", "text")
_OF_THE_MEASURE = ("value", "unit", "present")


def judged(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "reject it" right after "9, ribs sit 3/32 off. whats the limit": the splice asked about, and for that reason."""
    last = last_act(context)
    if last is None or last.name != "ask_acceptance" or not acts or acts[0].name != "report_inspection":
        return None
    told = acts[0].facts
    if isinstance(told.get("numbers"), list) or told.get("place") or told.get("verdict") not in ("accept", "reject"):
        return None
    facts: dict[str, Any] = {"verdict": told["verdict"]}
    if spoken := last.facts.get("splices"):
        facts["numbers"] = list(spoken)
    if told["verdict"] == "reject":
        facts |= {k: last.facts[k] for k in ("defect", "value", "unit") if k in last.facts}
        facts |= {k: told[k] for k in ("defect", "value", "unit") if k in told}
    # Where no splice was named in the question there is none to judge: the reader asks which.
    return [Act("report_inspection", facts)]


def reject_measured(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "about 3/32" right after a reject for a gap: how much it was."""
    last = last_act(context)
    if last is None or last.name != "report_inspection" or last.facts.get("verdict") != "reject" or asks(text):
        return None
    lengths = text.of("len", "pct")
    if not last.facts.get("defect") or last.facts.get("value") is not None or len(lengths) != 1:
        return None
    told = {"value": lengths[0].value, "unit": lengths[0].unit or "%"}
    kept = {k: last.facts[k] for k in ("numbers", "judged", "verdict", "defect") if k in last.facts}
    return (
        [Act("report_inspection", {**kept, "numbers": numbers_of(last), **told})] if _is_only_measures(text) else None
    )


def measured(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "and with 1.8?", "y en 6 mm", "3/8" when the thickness was asked, "and for the ribs"."""
    last = last_act(context)
    if last is None or last.name != "ask_acceptance" or not last.facts.get("defect"):
        return None
    if len(text.tokens) > MOST_WORDS or not (_is_only_measures(text) or (acts and acts[0].name == "ask_acceptance")):
        return None
    new = _told(text, last.facts, context)
    goes_on = begins("again_small", row) or begins("goes_on", row)
    if not new or ("defect" in new and not goes_on):
        return None  # who names the defect anew without an "and" asks a question of its own
    if not text.of("len", "pct") and not asks(text) and (not goes_on or says("good", row) or says("bad", row)):
        return None  # "4 good" is about splice 4
    base = {k: v for k, v in last.facts.items() if k not in _FOUND}
    other = new.get("defect") not in (None, base["defect"])
    if other and "value" not in new:
        new |= {k: base[k] for k in ("value", "unit") if k in base and base["defect"] != "tensile"}
    if last.facts.get("verdict") == "rule" and "value" not in {**base, **new}:
        new["verdict"] = "rule"
    dropped = _OF_THE_MEASURE if "value" in new else ()
    return [Act("ask_acceptance", {**{k: v for k, v in base.items() if k not in dropped}, **new})]


def _told(text: Text, before: Mapping[str, Any], context: Context) -> dict[str, Any]:
    """The measure, the thickness and the defect that this text names."""
    facts = dict(ask_acceptance(text, context)[0].facts)
    shown = text.row()[0]
    named = first_defect(shown)
    new = {k: v for k, v in facts.items() if k not in ("defect", "verdict")} | ({"defect": named} if named else {})
    if not text.of("len", "pct"):
        new |= _bare(text, str(before.get("unit") or ("%" if before["defect"] == "tensile" else "")))
    if "value" in new and "thickness" not in new and new.get("unit") != "%" and _is_thickness(shown, context):
        new = {k: v for k, v in new.items() if k not in _OF_THE_MEASURE} | {"thickness": new["value"]}
        new |= {"thickness_unit": facts["unit"]} if facts.get("unit") else {}
    return new if set(new) - {"present"} else {}


def _bare(text: Text, unit: str) -> dict[str, Any]:
    """ "and 79?": the number alone, in the unit of the question before."""
    numbers = [m.value for m in text.of("n") if isinstance(m.value, int | float)]
    most = _LARGEST.get(unit, 0)
    return {"value": numbers[0], "unit": unit} if len(numbers) == 1 and 0 < numbers[0] <= most else {}


def _is_thickness(shown: str, context: Context) -> bool:
    """The thickness was asked for and this is all he says, or the measure is said to be that of the material."""
    pending = context.pending.about if context.pending else ""
    asked = pending.startswith("acceptance.need_thickness") and not re.match(rf"\W*{either('again_small')}\W", shown)
    of_it = re.search(rf"(?<!\w){either('measure_on')}(?: \w+){{0,2}} <len>(?! {either('deep')})", shown)
    return bool(asked or of_it or re.search(rf"<len> (?:\w+ ){{0,2}}?{either('material')}(?!\w)", shown))


def _is_only_measures(text: Text) -> bool:
    """Nothing but measures, words of the material, defects and small words."""
    shown = text.row()[0]
    if not re.search(r"<(len|n|pct)>", shown):
        return False
    small = any_of(["again_small", "measure_small", "measure_on", "material", "deep"])
    return not re.findall(r"[a-z]+", re.sub(rf"(?<!\w){small}(?!\w)|<\w+>", " ", shown))


def remembering(act: Act, text: Text, context: Context) -> Act:
    """A question of acceptance keeps the splice it was asked about."""
    if act.name != "ask_acceptance" or not context.highest or "splices" in act.facts:
        return act
    hit = re.match(r" (?:so |ok |and |y |on |in |en |el |la |# |no |number |splice |, )*<n> ", text.row()[0])
    hit = hit or re.search(r" (?:on|in|of|en|de) (?:the |el |la |# |no |number |splice )*<n> ", text.row()[0])
    numbers = [m.value for m in text.of("n") if isinstance(m.value, int) and 0 < m.value <= context.highest]
    return replace(act, facts={**act.facts, "splices": numbers[:1]}) if hit and numbers else act
