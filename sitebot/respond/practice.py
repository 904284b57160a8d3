"""Answers questions of practice out of the rules; the site's approved procedure stands before common practice.

No rule stands here: the rulebook finds it and chooses its words, this puts yes or no before it and names the source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.why import why_of_rule
from sitebot.rulebook import Rule
from sitebot.rulebook.amounts import Amount, amount_of, measured
from sitebot.rulebook.asking import opens_itself
from sitebot.rulebook.choose import Chosen, lies, measures_in

_WORDS = {"yes": {"en": "Yes. ", "es": "Sí. "}, "no": {"en": "No. ", "es": "No. "}, "": {"en": "", "es": ""}}
#: What a measure of that unit can be, by the names of the limits.
_NAMES = {
    "F": ("temperature",),
    "C": ("temperature",),
    "s": ("melt_time",),
    "min": ("warm_up", "cooled"),
    "h": ("warm_up", "cooled"),
    "in": ("bead",),
    "mm": ("bead",),
    "ft": ("cord",),
    "m": ("cord",),
}
#: One SMS part. A remark that would break it waits for "why?".
_ONE_PART = 160


def answer(act: Act, desk: Desk) -> Answer:
    """The best rule's answer to ``ask_practice``; asks back where no rule fits."""
    facts = act.facts
    text, topic = str(facts.get("text") or ""), str(facts.get("topic") or "other")
    chosen = desk.rules.answer(topic, text, _given(facts))
    if chosen is None:
        return unknown(facts)
    if chosen.rule.id == "practice.field_fittings":
        return _fittings(chosen, desk)
    own = own_procedure(chosen.rule, desk)
    if own:
        return _by_procedure(chosen, own, text, desk)
    says = worded(chosen, text, desk)
    remark = (Say("practice.common"),) if _marked(chosen, says) else ()
    return Answer(says=(says, *remark), why=why_of_rule(chosen.rule), facts=known(chosen, topic))


def _fittings(chosen: Chosen, desk: Desk) -> Answer:
    """Corners, tees and crosses made in the field: as the site is set, else as the guides have it."""
    setting = desk.site.field_fittings
    key = {"allowed": "practice.fittings_allowed", "not allowed": "practice.fittings_not_allowed"}.get(setting)
    says = Say(key) if key else Say("practice.rule", {"text": chosen.says})
    return Answer(says=(says,), why=why_of_rule(chosen.rule), facts=known(chosen, "other"))


def unknown(facts: Mapping[str, Any]) -> Answer:
    """No rule fits, and none is made up."""
    return Answer(
        says=(Say("practice.unknown"),), outcome="ask_back", asks=Unclear("practice.unknown"), facts=dict(facts)
    )


def known(chosen: Chosen, topic: str) -> dict[str, Any]:
    """What a follow-up continues from: the matter, the answer and the rule with its hash."""
    return {"topic": topic, "answer": chosen.gives, "rule": chosen.rule.id, "rule_hash": chosen.rule.hash}


def worded(chosen: Chosen, text: str, desk: Desk) -> Say:
    """The rule's words, with yes or no before them where that cannot be misread."""
    word = desk.rules.asking.word(chosen.gives, text)
    return Say("practice.rule", {"text": with_word(chosen.says, word)})


def with_word(says: Mapping[str, str], word: str) -> dict[str, str]:
    return {
        language: text if opens_itself(text, language) else _WORDS[word][language] + text
        for language, text in says.items()
    }


def _given(facts: Mapping[str, Any]) -> dict[str, Amount]:
    """The reader's value under every name a limit could ask for it; a unit that does not fit is left to the text."""
    if facts.get("value") is None or not facts.get("unit"):
        return {}
    try:
        amount = measured(facts["value"], str(facts["unit"]))
    except ValueError:
        return {}
    return dict.fromkeys(_NAMES.get(amount.unit, ()), amount)


def _marked(chosen: Chosen, says: Say) -> bool:
    """Figures of common practice are marked as such where the message has room."""
    if not chosen.rule.is_common_practice or not re.search(r"\d", chosen.says["en"]):
        return False
    texts: Any = says.values["text"]
    return all(len(t) + 20 <= _ONE_PART for t in texts.values())


def own_procedure(rule: Rule, desk: Desk) -> tuple[str, str] | None:
    """The value of the site's papers that replaces the rule, and the document."""
    own = desk.site.procedure.get(rule.procedure) if rule.procedure else None
    if own is not None:
        return str(own.value), str(own.source)
    limits = desk.site.limits
    found = limits.get(rule.id) or next((limits[x.of] for x in rule.limits if x.of in limits), None)
    if found is None:
        return None
    return "-".join(b for b in (found.min, found.max) if b), str(found.source)


def _by_procedure(chosen: Chosen, own: tuple[str, str], text: str, desk: Desk) -> Answer:
    """The site's value, judged against what was proposed where both are measures."""
    value, source = own
    rule = _bounded_by(chosen.rule, value)
    measures = {**measures_in(rule, text), **{k: v for k, v in chosen.measures.items() if v.unit}}
    place = lies(rule, measures)
    values: dict[str, object] = {"value": value, "source": source}
    if place:
        word = desk.rules.asking.word("yes" if place == "within" else "no", text)
        amount = next(measures[x.of] for x in rule.limits if x.of in measures)
        values |= {"word": _WORDS[word], "measure": {k: amount.words(k) for k in ("en", "es")}}
    return Answer(
        says=(Say(f"practice.site_{place}" if place else "practice.site", values),),
        why=why_of_rule(chosen.rule, source),
        facts=known(chosen, chosen.rule.topics[0]),
    )


def _bounded_by(rule: Rule, value: str) -> Rule:
    """The rule with its first limit taken from a procedure's value, "350-370 F"; as it was where that is no measure."""
    match = re.fullmatch(r"\s*(?:([\d./]+)\s*-\s*)?([\d./]+)\s*(\S+)\s*", value)
    if not match or not rule.limits:
        return rule.model_copy(update={"limits": ()})
    first = rule.limits[0]
    try:
        high = amount_of(f"{match[2]} {match[3]}")
        low = amount_of(f"{match[1]} {match[3]}") if match[1] else None
    except ValueError:
        return rule.model_copy(update={"limits": ()})
    bounds = {"min": low, "max": high} if low else {"min": high} if first.max is None else {"max": high}
    return rule.model_copy(update={"limits": (first.model_copy(update={**bounds, "equals": None}), *rule.limits[1:])})
