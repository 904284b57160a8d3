"""Answers "does it pass?": the verdict word first, then the arithmetic. It is nobody's acceptance, nothing is recorded.

The limits stand in rules/acceptance and the site's papers; what is missing is asked for, never guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.message import Say
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.why import why_of_rule, why_of_verdict
from sitebot.rulebook import Finding, Papers, Rule, Verdict
from sitebot.rulebook.amounts import Amount, amounts_in, measured
from sitebot.rulebook.choose import bounds, filled
from sitebot.rulebook.phrases import fold, said

Facts = Mapping[str, Any]
#: Bulb and ribs given in percent are loss of section.
_SHIFTED = ("bulb_misaligned", "ribs_misaligned")
_LANGUAGES = ("en", "es")


def answer(act: Act, desk: Desk) -> Answer:
    """The verdict of the rules on what is described, the rule itself, or a question for the measure that lacks."""
    facts = act.facts
    text, defect = str(facts.get("text") or ""), str(facts.get("defect") or "")
    if facts.get("value") is None and _asks_rule(facts, text, desk):
        return _rule(defect, text, facts, desk)
    if facts.get("present") is False and facts.get("value") is None:
        lacking = _lacking(text, desk)
        return _reject(lacking, facts, desk) if lacking else _clean(facts, desk)
    if defect in ("", "other") and not (facts.get("value") is not None and facts.get("present") is False):
        return _by_words(text, facts, desk)
    return _measured(defect or "thin_bead", text, facts, desk)


def papers_of(desk: Desk) -> Papers:
    """What of the site's papers bears on limits."""
    site = desk.site
    return Papers(site.units == "metric", site.limits, site.rounding)


def _asks_rule(facts: Facts, text: str, desk: Desk) -> bool:
    return facts.get("verdict") == "rule" or desk.rules.asking.shows("asks_rule", text)


def _rule(defect: str, text: str, facts: Facts, desk: Desk) -> Answer:
    """The rule as it stands on this site; the whole list where no one defect is meant."""
    rules = desk.rules.about(defect, "acceptance.") if defect not in ("", "other") else ()
    rule = rules[0] if rules else _found(text, desk) or desk.rules.rule("acceptance.whole_list")
    says = Say("acceptance.rule", {"text": filled(rule.says, rule, {}, papers_of(desk))})
    says = _limit_at(rule, facts, desk) or says
    return Answer(says=(says,), why=why_of_rule(rule), facts={**facts, "verdict": "rule", "rule": rule.id})


def _limit_at(rule: Rule, facts: Facts, desk: Desk) -> Say | None:
    """What the limit comes to on the thickness that was named."""
    if facts.get("thickness") is None or not rule.limits:
        return None
    measures = _measures(rule, measured(0.001, "in"), "", facts)
    verdict = desk.rules.judge(rule.topics[0], measures, papers_of(desk))
    found = verdict.governs if verdict else None
    if found is None or found.bound is None or "thickness" not in measures:
        return None
    return Say("acceptance.limit_at", _values(found))


def _found(text: str, desk: Desk) -> Rule | None:
    """The rule of acceptance whose words stand in the text."""
    folded = fold(text)
    rules = [r for r in desk.rules.rules.values() if r.id.startswith("acceptance.") and said(folded, r.words.all)]
    return min(rules, key=lambda r: ("other" not in r.topics, r.id), default=None)


def _lacking(text: str, desk: Desk) -> Rule | None:
    """What must be there and is denied, "no bead": a flaw, though it sounds like one denied."""
    floors = [r for r in desk.rules.rules.values() if r.gross and r.limits and r.limits[0].min is not None]
    return next((r for r in floors if r.gross and said(fold(text), r.gross.all)), None)


def _clean(facts: Facts, desk: Desk) -> Answer:
    """Flaws were only denied: it passes on what was named, and the rest of the list is put beside it."""
    rule = desk.rules.rule("acceptance.whole_list")
    return Answer(says=(Say("acceptance.clean"),), why=why_of_rule(rule), facts={**facts, "verdict": "accept"})


def _by_words(text: str, facts: Facts, desk: Desk) -> Answer:
    """A flaw without a name of its own: the rule that has its words, or the question what is seen."""
    rule = _found(text, desk)
    if rule is None or not rule.limits:
        return _ask("acceptance.what_is_seen", facts, {}, "defect")
    if rule.unmeasured == "reject":
        return _reject(rule, facts, desk)
    return _measured(rule.topics[0], text, facts, desk)


def _measured(defect: str, text: str, facts: Facts, desk: Desk) -> Answer:
    reading = _reading(facts)
    defect = "misaligned" if defect in _SHIFTED and reading and reading.unit == "%" else defect
    rules = [r for r in desk.rules.about(defect, "acceptance.") if r.limits]
    if not rules:
        return _by_words(text, {**facts, "defect": "other"}, desk)
    rule = rules[0]
    if rule.limits[0].max == "none":
        return _reject(rule, facts, desk)
    if reading is None:
        gross = bool(rule.gross and said(fold(text), rule.gross.all))
        return _reject(rule, facts, desk) if gross or rule.unmeasured == "reject" else _ask_measure(rule, facts, desk)
    if not reading.unit:
        return _ask_measure(rule, facts, desk)
    if defect == "misaligned" and reading.unit != "%":
        return _offset(rule, reading, text, facts, desk)
    return _judged(rule, _measures(rule, reading, text, facts), facts, desk)


def _reading(facts: Facts) -> Amount | None:
    """The measure of the facts; a small number without a unit is inches where the thickness is."""
    if facts.get("value") is None:
        return None
    try:
        amount = measured(facts["value"], str(facts.get("unit") or ""))
        thickness_unit = str(facts.get("thickness_unit") or "")
        return amount if amount.unit or not thickness_unit else measured(facts["value"], thickness_unit)
    except ValueError:
        return None


def _measures(rule: Rule, reading: Amount, text: str, facts: Facts) -> dict[str, Amount]:
    """The reading under the name its limit uses, and what it is compared with."""
    measures = {rule.limits[0].of: reading}
    for name in ("thickness", "parent_strength", "run_length"):
        if facts.get(name) is not None:
            unit = facts.get(f"{name}_unit") or (reading.unit if reading.unit != "%" else "in")
            try:
                measures[name] = measured(facts[name], str(unit))
            except ValueError:
                continue
    runs = [a for a in amounts_in(text) if a.unit in ("ft", "m") and a != reading]
    if runs:
        measures["run_length"] = runs[-1]
    return measures


def _offset(rule: Rule, reading: Amount, text: str, facts: Facts, desk: Desk) -> Answer:
    """Ends off by a length: the section it costs, and bulb and ribs, off by as much unless they were seen true."""
    in_line = desk.rules.judge("bulb_misaligned", {"offset": reading}, papers_of(desk))
    measures = _measures(rule, reading, text, facts)
    loss = desk.rules.judge("misaligned", measures, papers_of(desk))
    beyond = in_line is not None and not in_line.passes
    if loss and loss.call == "need_more" and beyond and in_line:
        return _told(desk.rules.rule(in_line.rule), in_line, facts, desk)
    if loss and loss.passes and beyond and not _seen_true(text, desk):
        share = loss.governs.share if loss.governs else None
        values = {"reading": _words(reading), "share": _words(share) if share else ""}
        return _ask("acceptance.are_bulbs_in_line", facts, values, "in_line")
    return _judged(rule, measures, facts, desk)


def _seen_true(text: str, desk: Desk) -> bool:
    """Bulb or ribs were said to be in line, and nothing was said to be out of it."""
    return desk.rules.asking.shows("in_line", text) and not desk.rules.asking.shows("off_line", text)


def _judged(rule: Rule, measures: Mapping[str, Amount], facts: Facts, desk: Desk) -> Answer:
    verdict = desk.rules.judge(rule.topics[0], measures, papers_of(desk))
    if verdict is None or verdict.call == "need_more":
        return _ask_rest(rule, verdict, facts, desk)
    return _told(rule, verdict, facts, desk)


def _told(rule: Rule, verdict: Verdict, facts: Facts, desk: Desk) -> Answer:
    """The verdict in words: the word first, the reading against the bound, what the bound is made of."""
    finding = verdict.governs
    key = verdict.call if verdict.passes else f"reject_{finding.found if finding else 'over'}"
    floor = "_floor" if verdict.passes and finding and finding.limit.min is not None else ""
    says = [Say(f"acceptance.{key}{floor}", _values(finding) if finding else {})]
    if verdict.passes:
        says += [Say("acceptance.with_bulbs")] if rule.id == "acceptance.section_loss" else []
        says += _whose_call(desk)
    found = {**facts, "verdict": "accept" if verdict.passes else "reject", "at_limit": verdict.call == "at_limit"}
    return Answer(
        says=tuple(says),
        why=why_of_verdict(rule, verdict, papers_of(desk)),
        facts={**found, "rule": rule.id, "rule_hash": verdict.hash},
    )


def _values(finding: Finding) -> dict[str, object]:
    of: object = ""
    if finding.base and finding.written and finding.written.unit == "%":
        share, base = finding.written, finding.base
        of = {"en": f"{share} of {base.words('en')}", "es": f"{share} de {base.words('es')}"}
    elif finding.written and finding.bound and finding.written.unit != finding.bound.unit:
        of = _words(finding.written)
    reading, bound = finding.reading, finding.bound
    return {"reading": _words(reading) if reading else "", "bound": _words(bound) if bound else "", "of": of}


def _words(amount: Amount) -> dict[str, str]:
    return {language: amount.words(language) for language in _LANGUAGES}


def _reject(rule: Rule, facts: Facts, desk: Desk) -> Answer:
    """A flaw of which no trace is allowed, or which was seen without a measure and rejects so."""
    says = Say("acceptance.reject", {"text": filled(rule.says, rule, {}, papers_of(desk))})
    known = {**facts, "verdict": "reject", "rule": rule.id, "rule_hash": rule.hash}
    return Answer(says=(says,), why=why_of_rule(rule), facts=known)


def _whose_call(desk: Desk) -> tuple[Say, ...]:
    return (Say("acceptance.your_call" if desk.may_judge else "acceptance.inspector_decides"),)


def _ask_measure(rule: Rule, facts: Facts, desk: Desk) -> Answer:
    """Seen, not measured (or in no unit): the measure the rule needs."""
    limits = {name: _words(amount) for name, amount in bounds(rule, papers_of(desk)).items()}
    return _ask(f"acceptance.measure_{rule.limits[0].of}", facts, limits, "value", rule)


def _ask_rest(rule: Rule, verdict: Verdict | None, facts: Facts, desk: Desk) -> Answer:
    """Measured, and what it is compared with lacks: the thickness, the parent's strength, the length of the run."""
    missing = verdict.missing if verdict else "thickness"
    if missing == rule.limits[0].of:
        return _ask_measure(rule, facts, desk)
    limits = {name: _words(amount) for name, amount in bounds(rule, papers_of(desk)).items()}
    reading = _reading(facts)
    values = {**limits, "reading": _words(reading) if reading else ""}
    kind = "_section" if missing == "thickness" and rule.limits[0].of == "section_loss" else ""
    return _ask(f"acceptance.need_{missing}{kind}", facts, values, missing, rule)


def _ask(key: str, facts: Facts, values: Mapping[str, object], missing: str, rule: Rule | None = None) -> Answer:
    """A question back; the act stays open for the measure named ``missing``."""
    known = {**facts, "verdict": "need_more"}
    act = Act("ask_acceptance", dict(facts))
    return Answer(
        says=(Say(key, values),),
        outcome="ask_back",
        why=why_of_rule(rule) if rule else (),
        facts=known,
        asks=Unclear(key, ((replace(act),),), {**values, "missing": missing}),
    )
