"""Answers questions of safety, and unsafe plans: the hazard and the safe way first, whatever else was asked.

Where somebody may be hurt the first-aider, the emergency number and the address follow, before any question back.
"""

from __future__ import annotations

from sitebot.acts import Act
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.practice import known, with_word, worded
from sitebot.respond.why import why_of_rule
from sitebot.rulebook.choose import Chosen, choose

#: Dangers whose rule is one of practice: how not to join and not to cut.
_OF_PRACTICE = ("glue", "solvent", "lap", "mechanical", "torch", "knife_miter")


def answer(act: Act, desk: Desk) -> Answer:
    """The safe way, for ``ask_safety`` and ``unsafe_plan``."""
    return _plan(act, desk) if act.name == "unsafe_plan" else _question(act, desk)


def emergency(desk: Desk) -> Say:
    """Whom to call and where to send them."""
    site = desk.site
    return Say(
        "safety.emergency",
        {
            "number": site.emergency_number or "911",
            "first_aider": site.first_aider,
            "address": site.address,
        },
    )


def _question(act: Act, desk: Desk) -> Answer:
    text, topic = str(act.facts.get("text") or ""), str(act.facts.get("topic") or "other")
    chosen = desk.rules.answer(topic, text)
    if chosen is None:
        return Answer(says=(Say("safety.make_safe"), emergency(desk)), facts=dict(act.facts))
    rest = (emergency(desk),) if chosen.first_aid else ()
    return Answer(says=(worded(chosen, text, desk), *rest), why=why_of_rule(chosen.rule), facts=known(chosen, topic))


def _plan(act: Act, desk: Desk) -> Answer:
    text, danger = str(act.facts.get("text") or ""), str(act.facts.get("danger") or "other")
    chosen = _against(danger, text, desk)
    if chosen is None:
        return Answer(says=(Say("safety.stop"),), outcome="refuse", facts=dict(act.facts))
    says = Say("practice.rule", {"text": with_word(chosen.says, "no")})
    return Answer(
        says=(says, emergency(desk)) if chosen.first_aid else (says,),
        outcome="refuse",
        why=why_of_rule(chosen.rule),
        facts={**act.facts, "rule": chosen.rule.id, "rule_hash": chosen.rule.hash},
    )


def _against(danger: str, text: str, desk: Desk) -> Chosen | None:
    """The rule that speaks against a plan: the nearest, and the danger's own where that one says no to nothing."""
    folder = "practice." if danger in _OF_PRACTICE else "safety."
    chosen = desk.rules.answer(danger, text, folder=folder)
    own = desk.rules.about(danger, folder) if danger != "other" else ()
    if own and chosen and chosen.gives != "no" and chosen.rule.id not in {r.id for r in own}:
        return choose(own[0], text, topic=danger)
    return chosen
