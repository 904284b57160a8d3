"""Chooses among the answers of one rule for one text: the first whose conditions all hold, else what the rule says.

Only the rule's own words and limits decide; nothing is worded here but the figures put into a rule's text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from sitebot.rulebook.amounts import Amount, amounts_in, number_of
from sitebot.rulebook.judge import INCH_PAPERS, Papers, findings_of, replaced
from sitebot.rulebook.model import Gives, Limit, Rule, Texts, When
from sitebot.rulebook.phrases import fold, said

Measured = Mapping[str, Amount]


@dataclass(frozen=True, slots=True)
class Chosen:
    """An answer of a rule: yes or no to a proposal, or its value, and the words by language."""

    rule: Rule
    gives: Gives
    says: Mapping[str, str]
    #: Which of the rule's answers; -1 is what the rule says by itself.
    choice: int = -1
    measures: Measured = field(default_factory=dict)
    first_aid: bool = False


def choose(
    rule: Rule, text: str, given: Measured | None = None, papers: Papers = INCH_PAPERS, topic: str = ""
) -> Chosen:
    """What ``rule`` answers to ``text``; ``given`` are measures already read from it, by the limits' names."""
    folded = fold(text)
    measures = {**measures_in(rule, text), **(given or {})}
    for i, choice in enumerate(rule.answers):
        if _holds(choice.when, rule, folded, measures, papers, topic):
            says = filled(choice.says, rule, measures, papers)
            return Chosen(rule, choice.gives, says, i, measures, choice.first_aid == "yes")
    return Chosen(rule, "value", filled(rule.says, rule, measures, papers), -1, measures, rule.first_aid == "yes")


def _holds(when: When, rule: Rule, folded: str, measures: Measured, papers: Papers, topic: str) -> bool:
    if when.topic and topic not in when.topic:
        return False
    if when.said and not said(folded, when.said.all):
        return False
    if when.also and not said(folded, when.also.all):
        return False
    if when.unless and said(folded, when.unless.all):
        return False
    return not when.measure or lies(rule, measures, papers) in when.measure


def lies(rule: Rule, measures: Measured, papers: Papers = INCH_PAPERS) -> str:
    """within, over or under the rule's limits; empty where nothing was measured."""
    found = {
        f.found for limit in rule.limits if limit.of in measures for f in findings_of(rule.id, limit, measures, papers)
    } - {"unknown"}
    if not found:
        return ""
    return "over" if "over" in found else "under" if "under" in found else "within"


def measures_in(rule: Rule, text: str) -> dict[str, Amount]:
    """The amounts of a sentence that a limit of the rule can take: by unit, or a bare number in its usual span."""
    found: dict[str, Amount] = {}
    amounts = amounts_in(text)
    for limit in rule.limits:
        taken = [t for a in amounts if (t := _taken(limit, a))]
        if taken and limit.of not in found:
            found[limit.of] = taken[-1]
    return found


def _taken(limit: Limit, amount: Amount) -> Amount | None:
    for text in limit.bare:
        unit, _, span = text.partition(" ")
        low, _, high = span.partition("-")
        if amount.unit in ("", unit) and number_of(low)[0] <= amount.number <= number_of(high)[0]:
            return Amount(amount.number, unit, amount.decimals)
    if any(text.startswith(f"{amount.unit} ") for text in limit.bare):
        return None  # the span holds for numbers with the unit too: "10 F over" is no heat of the face
    dimensions = {b.dimension for b in (limit.min, limit.max) if isinstance(b, Amount)}
    return amount if amount.unit and amount.dimension in dimensions else None


def filled(texts: Texts, rule: Rule, measures: Measured, papers: Papers = INCH_PAPERS) -> dict[str, str]:
    """The texts by language, with measures by name put in and the limits in force as {min1}, {max1}, {max2} ..."""
    amounts = {**bounds(rule, papers), **measures}
    return {language: _fill(getattr(texts, language), amounts, language) for language in ("en", "es")}


def bounds(rule: Rule, papers: Papers = INCH_PAPERS) -> dict[str, Amount]:
    """The limits in force on these papers: min1 and max1 are of the first limit, max2 of the second."""
    found = {}
    for i, written in enumerate(rule.limits, start=1):
        limit, own = replaced(rule.id, written, papers)
        for side in ("min", "max"):
            bound = getattr(limit, side)
            if isinstance(bound, Amount):
                found[f"{side}{i}"] = limit.metric if papers.metric and limit.metric and not own else bound
    return found


def _fill(text: str, amounts: Measured, language: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda m: amounts[m[1]].words(language) if m[1] in amounts else m[0], text)
