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

#: What counts for a rule beside its score: an answer made for the text, or for its measure, and the topic seen in it.
_MADE_FOR, _MEASURED, _OWN = 6.0, 3.0, 7.0


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
        score = {hit.rule.id: hit.score for hit in self.search(text)}
        own = self.about(topic, folder) if topic not in ("", "other") else ()
        ours = {rule.id for rule in own}
        others = [r for r in self.rules.values() if r.id in score and not r.id.startswith("acceptance.")]
        chosen = [choose(rule, text, given, topic=topic) for rule in {r.id: r for r in (*own, *others)}.values()]

        def weight(answer: Chosen) -> float:
            made_for = (_MADE_FOR + _MEASURED * bool(answer.measures)) if answer.choice >= 0 else 0.0
            return score.get(answer.rule.id, 0.0) + made_for + (_OWN if answer.rule.id in ours else 0.0)

        return max(chosen, key=weight, default=None)

    def search(self, text: str, language: str = "", folder: str = "") -> list[Hit]:
        """Rules that fit the text, best first; empty where none does.

        Crews mix languages in one sentence, so the words of all are searched whatever ``language`` is spoken.
        """
        return self.index.search(text, folder)


def check(path: Path) -> list[str]:
    """Every fault of a folder of rules, in its files or in what its own cases give; empty where all is well."""
    rules, faults = read_rules(path)
    if faults:
        return faults
    book = Rulebook.of(rules, Asking.load(path))
    return [fault for rule in rules.values() for fault in faults_of_cases(rule, book.search)]
