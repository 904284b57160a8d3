"""What "why?" gives after an answer out of the rules: the arithmetic, the rule's caution and its source.

Nothing is decided here: the verdict or the rule is handed in.
"""

from __future__ import annotations

from sitebot.message import Say
from sitebot.rulebook import Papers, Rule, Verdict
from sitebot.rulebook.choose import filled
from sitebot.rulebook.judge import INCH_PAPERS


def why_of_rule(rule: Rule, own_source: str = "") -> tuple[Say, ...]:
    """Where a rule comes from: the site's document that replaced it, published ones by name, or common practice."""
    return (_source(rule, own_source), Say("why.caution", {"text": rule.caution.model_dump()}))


def why_of_verdict(rule: Rule, verdict: Verdict, papers: Papers = INCH_PAPERS) -> tuple[Say, ...]:
    """The arithmetic of a verdict, then the rule it rests on."""
    steps = {language: verdict.arithmetic(language) for language in ("en", "es")}
    governs = verdict.governs
    told = [Say("why.arithmetic", {"steps": steps})] if steps["en"] else []
    if governs and governs.share and governs.bound and governs.bound.unit != "%":
        told.append(Say("why.share", {"share": {language: governs.share.words(language) for language in ("en", "es")}}))
    told.append(Say("why.rule", {"text": filled(rule.says, rule, {}, papers)}))
    return (*told, *why_of_rule(rule, governs.source if governs else ""))


def _source(rule: Rule, own_source: str) -> Say:
    if own_source:
        return Say("why.own", {"source": own_source})
    if rule.is_common_practice:
        return Say("why.common_practice")
    return Say("why.source", {"cites": "; ".join(rule.cites), "rule": rule.id, "hash": rule.hash})
