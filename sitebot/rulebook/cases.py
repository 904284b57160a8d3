"""Runs the cases that a rule file brings along: measures against its limits, questions against its answers.

A case that fails is a fault of the data, told with the rule and what was found instead.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sitebot.rulebook.choose import choose
from sitebot.rulebook.judge import Papers, judge, outcome
from sitebot.rulebook.model import Case, Rule
from sitebot.rulebook.search import Hit

Search = Callable[[str], Sequence[Hit]]
#: A question must bring its rule among so many.
_AMONG = 3


def sentence(rule: Rule, case: Case) -> str:
    """The case as a sentence, for the name of a test."""
    if case.asked is not None:
        return f"{rule.id}: asked {case.asked!r} it gives {case.gives}"
    given = ", ".join(f"{name} {amount}" for name, amount in (case.given or {}).items())
    return f"{rule.id}: {given}{' on metric papers' if case.metric == 'yes' else ''} is {case.gives}"


def fault_of_case(rule: Rule, case: Case, search: Search) -> str:
    """What is wrong with a case, or nothing."""
    if case.given is not None:
        got = outcome(judge(rule, case.given, Papers(metric=case.metric == "yes")))
        return "" if got == case.gives else f"{sentence(rule, case)}, but the limits give {got}. Mend one of the two."
    text = case.asked or ""
    chosen = choose(rule, text)
    if chosen.gives != case.gives:
        return f"{sentence(rule, case)}, but its answers give {chosen.gives}. Mend the words of one of the two."
    found = [hit.rule.id for hit in search(text)[:_AMONG]]
    if rule.id not in found:
        return f"{sentence(rule, case)}, but a search finds {found or 'nothing'}. Add the words people use."
    return ""


def faults_of_cases(rule: Rule, search: Search) -> list[str]:
    """All faults of a rule's cases."""
    return [fault for case in rule.cases if (fault := fault_of_case(rule, case, search))]
