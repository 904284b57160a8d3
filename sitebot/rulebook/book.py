"""The rulebook: all rules of a folder, by id, by the matter they answer, judged and searched.

It is read once and never changes; what a site puts in a rule's place is handed in with each question.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sitebot.errors import DataError
from sitebot.rulebook.amounts import Amount
from sitebot.rulebook.asking import Asking
from sitebot.rulebook.cases import faults_of_cases
from sitebot.rulebook.choose import Chosen, Measured, choose
from sitebot.rulebook.judge import INCH_PAPERS, Papers, Verdict, judge
from sitebot.rulebook.load import read_rules
from sitebot.rulebook.model import Rule
from sitebot.rulebook.search import Hit, Index

#: How much nearer another rule must be than the topic's own, to be taken instead.
_PLAINLY, _NEAR = 1.5, 12.0


@dataclass(frozen=True)
class Rulebook:
    """All rules by id, and the index over their words."""

    rules: Mapping[str, Rule]
    index: Index
    asking: Asking

    @classmethod
    def load(cls, path: Path) -> Rulebook:
        """The rules of a folder; DataError names every fault of every file, one a line."""
        rules, faults = read_rules(path)
        if faults:
            raise DataError("\n".join(faults))
        return cls.of(rules, Asking.load(path))

    @classmethod
    def of(cls, rules: Mapping[str, Rule], asking: Asking) -> Rulebook:
        return cls(rules, Index(rules.values(), asking.small_words), asking)

    def rule(self, rule_id: str) -> Rule:
        """The rule of that id; KeyError where there is none."""
        return self.rules[rule_id]

    def about(self, topic: str, folder: str = "") -> tuple[Rule, ...]:
        """The rules that answer a topic, a danger or a defect, those first that name it first."""
        found = [r for r in self.rules.values() if topic in r.topics and r.id.startswith(folder)]
        return tuple(sorted(found, key=lambda r: (r.topics.index(topic), r.id)))

    def judge(self, defect: str, measures: Mapping[str, Amount], papers: Papers = INCH_PAPERS) -> Verdict | None:
        """The verdict on a defect by the first rule that judges it; None where no rule does."""
        rules = [r for r in self.about(defect, "acceptance.") if r.limits]
        return judge(rules[0], measures, papers) if rules else None

    def answer(self, topic: str, text: str, given: Measured | None = None, folder: str = "") -> Chosen | None:
        """The answer to a text about a topic: by the topic's rules, the closest first, else by search; or None."""
        hits = self.search(text)
        rank = {hit.rule.id: -hit.score for hit in hits}
        rules = sorted(self.about(topic, folder) if topic != "other" else (), key=lambda r: rank.get(r.id, 0.0))
        rules += [hit.rule for hit in hits if hit.rule not in rules and not hit.rule.id.startswith("acceptance.")]
        return self._made_for(rules, topic, text, given) or self._nearest(rules, rank, topic, text, given)

    def _made_for(self, rules: list[Rule], topic: str, text: str, given: Measured | None) -> Chosen | None:
        """The first rule of the topic, or the best found, that has an answer for just this text."""
        for i, rule in enumerate(rules):
            if topic in rule.topics or i == 0:
                chosen = choose(rule, text, given, topic=topic)
                if chosen.choice >= 0:
                    return chosen
        return None

    def _nearest(
        self, rules: list[Rule], rank: Mapping[str, float], topic: str, text: str, given: Measured | None
    ) -> Chosen | None:
        """What the topic's rule says; another rule where the text is plainly nearer to it."""
        if not rules:
            return None
        nearest = min(rules, key=lambda r: rank.get(r.id, 0.0))
        own = rank.get(rules[0].id, 0.0)
        rule = nearest if rank.get(nearest.id, 0.0) < own * _PLAINLY - _NEAR else rules[0]
        return choose(rule, text, given, topic=topic)

    def search(self, text: str, language: str = "") -> list[Hit]:
        """Rules that fit the text, best first; empty where none does. Crews mix languages, so both are searched."""
        return self.index.search(text)


def check(path: Path) -> list[str]:
    """Every fault of a folder of rules, in its files or in what its own cases give; empty where all is well."""
    rules, faults = read_rules(path)
    if faults:
        return faults
    book = Rulebook.of(rules, Asking.load(path))
    return [fault for rule in rules.values() for fault in faults_of_cases(rule, book.search)]
