"""What is too unsure to be recorded: an act becomes a question with its likeliest readings.

Thresholds stand here and nowhere else, set from the labelled messages leaving one hand out: below them a record
of that act did harm in about a third of the cases.
"""

from __future__ import annotations

from sitebot.acts import REPORTS, Act, Unclear
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.explained import left_over
from sitebot.understand.facts.fill import told
from sitebot.understand.facts.judged import excepts_unnamed, is_given, is_vague, splice_rows
from sitebot.understand.facts.unmade import is_to_come, made_only
from sitebot.understand.facts.verdicts import weighed
from sitebot.understand.leanings import asked
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_conditional, is_planned, is_supposed
from sitebot.understand.setting_right import sets_right

#: Who stops the texts in more words than this says that it is the texts.
SHORT_STOP = 3
#: Letters of a word that may stand for itself.
WHOLE_WORD = 3
#: A report whose act is ahead by less than this is asked about; what is easily mistaken needs more.
SURE = 0.5
SURER = {
    "amend": 1.0,
    "report_rework": 0.8,
    "report_sample": 0.7,
    "report_inspection": 0.6,
    "report_splices": 0.5,
    "report_damage": 0.3,
    "report_iron": 0.4,
}


#: A report in a text that asks, plans or supposes, or without the word that makes it one, needs more (of splices 0.7 to
#: 1.0 ahead, 15 were right and one did harm); in a text that sets something right it is most likely a correction.
UNTOLD = {"report_splices": 0.7}
WORDLESS, CORRECTING = 0.5, 2.0
#: A verdict in so many words on splices that are named.
GIVEN = 0.3
#: A verdict under an "if" is none, however sure it sounds.
SUPPOSED = 9.0


def unsure(acts: list[Act], margin: float, other: list[Act], text: Text, context: Context) -> Unclear | None:
    """A report that might as well be something else: the two readings to choose from."""
    if not acts or acts[0].name not in REPORTS or margin >= _needed(acts[0].name, text, context):
        return None
    return Unclear("reading.which", (tuple(acts), tuple(other)), dict(acts[0].facts))


def _needed(act: str, text: Text, context: Context) -> float:
    """How far ahead a report must be to be kept."""
    said = made_only(text) if act == "report_splices" else text
    asks = asked(said, context) and (act != "report_inspection" or text.has("question_start") or text.matches(r" \? "))
    given = act == "report_rework" or (act == "report_inspection" and is_given(text, context))
    needed = [GIVEN if given and act == "report_inspection" else SURER.get(act, SURE)]
    if asks or is_supposed(said) or (is_planned(said) and not given):
        needed.append(SUPPOSED if act == "report_inspection" and is_conditional(said) else UNTOLD.get(act, 1.0))
    if act in {"report_splices", "report_inspection"} and sets_right(text):
        needed.append(CORRECTING)
    if act == "report_splices" and is_to_come(text):
        needed.append(CORRECTING)
    if act == "report_splices" and not any(text.has(key) for key in _MADE):
        needed.append(WORDLESS)
    if act == "report_iron" and not (text.of("iron") or text.has("iron_noun") or text.has("cover_noun")):
        needed.append(WORDLESS)
    return max(needed)


_MADE = ("made", "verb.made", "log_it", "verb.log_it")


#: What is asked where a number of the text stands in no fact.
_LEFT = {
    "amend": "amend.what",
    "report_splices": "splices.clash",
    "report_inspection": "inspection.which",
    "report_rework": "rework.which",
    "report_damage": "damage.where",
    "report_sample": "sample.verdict",
    "report_iron": "iron.what",
}


def muddled(acts: list[Act], text: Text, context: Context) -> Unclear | None:
    """Facts that do not account for what the text says: a number left over, a verdict said both ways."""
    first = acts[0]
    text = told(first.name, text)
    if first.name in _LEFT and left_over(acts, text, context):
        return Unclear(_LEFT[first.name], (tuple(acts),), dict(first.facts))
    said = {a.facts.get("verdict") for a in acts if a.name == "report_inspection"}
    if first.name == "report_inspection" and len(said) == 1 and _both_ways(text):
        return Unclear("inspection.verdict", (tuple(acts),), dict(first.facts))
    return None


def _both_ways(text: Text) -> bool:
    keys = [k for _, k in weighed(text.row()[0])]
    return "accept" in keys and "reject" in keys and len(splice_rows(text)) > 1


def _names_one(text: Text) -> bool:
    """Is a number in it that of one splice: "the corner 9"?"""
    return text.matches(rf" {words.any_of('the_one')} <n> ")


def _is_bare(act: Act, text: Text) -> bool:
    """A kind in two letters and a place, and no number: "0A bt" is too little to keep anything by."""
    if act.name != "report_splices" or set(act.facts) - {"count", "joint", "place"} or text.of("n"):
        return False
    free = [t.raw for i, t in enumerate(text.tokens) if t.form == "word" and text.mark_at(i) is None]
    return max(map(len, free), default=0) < WHOLE_WORD


def _is_verdict_set_right(act: Act, context: Context) -> bool:
    """ "no wait 2 not 3" after a verdict is about its number, not about how many were made."""
    after = context.last[0].name if context.last else ""
    return act.name == "amend" and after == "report_inspection" and "count" in dict(act.facts.get("change") or {})


def missing(acts: list[Act], text: Text, context: Context) -> Unclear | None:
    """A report that lacks what it cannot be kept without."""
    for act in acts:
        facts = act.facts
        if act.name == "opt_out" and len(text.tokens) > SHORT_STOP and not words.says("about_texts", text.row()[0]):
            return Unclear("unclear")
        if act.name == "report_splices" and not facts.get("numbers") and _names_one(text):
            return Unclear("splices.clash", (tuple(acts),), dict(facts))
        if act.name == "plan_pour" and not set(act.facts) & {"date", "at"} and not text.has("pour"):
            return Unclear("unclear")
        if _is_bare(act, text):
            return Unclear("splices.count", (tuple(acts),), dict(act.facts))
        if _is_verdict_set_right(act, context):
            return Unclear("amend.what", (tuple(acts),), dict(facts))
        if act.name == "report_splices" and (facts.get("count") is None or facts.get("clash")):
            return Unclear("splices.clash" if facts.get("clash") else "splices.count", (tuple(acts),), dict(facts))
        if act.name == "report_inspection" and (is_vague(text) or excepts_unnamed(text) or not facts.get("verdict")):
            return Unclear(
                "inspection.which" if facts.get("verdict") else "inspection.verdict", (tuple(acts),), dict(facts)
            )
        if act.name == "report_inspection" and not (facts.get("numbers") or facts.get("place") or facts.get("joint")):
            return Unclear("inspection.which", (tuple(acts),), dict(facts))
        if act.name == "report_iron" and not facts.get("event"):
            return Unclear("iron.what", (tuple(acts),), dict(facts))
        if act.name == "report_sample" and not facts.get("verdict"):
            return Unclear("sample.verdict", (tuple(acts),), dict(facts))
        if act.name == "report_rework" and not facts.get("numbers"):
            return Unclear("rework.which", (tuple(acts),), dict(facts))
        if act.name == "amend" and not facts.get("void") and not facts.get("change"):
            return Unclear("amend.what", (tuple(acts),), dict(facts))
        if act.name == "ask_cut" and not set(facts) & {
            "turn_deg",
            "inside_deg",
            "legs_deg",
            "flat_turn_deg",
            "number_deg",
        }:
            return Unclear("cut.angle", (tuple(acts),), dict(facts))
        if act.name == "report_damage" and not (facts.get("numbers") or facts.get("place")):
            return Unclear("damage.where", (tuple(acts),), dict(facts))
    return None
