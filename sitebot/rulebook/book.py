"""The rulebook: all rules of a folder, by id, by the matter they answer, judged and searched.

It is read once and never changes; what a site puts in a rule's place is handed in with each question.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from sitebot.errors import DataError
from sitebot.rulebook.amounts import Amount
from sitebot.rulebook.cases import faults_of_cases
from sitebot.rulebook.judge import INCH_PAPERS, Papers, Verdict, judge
from sitebot.rulebook.load import read_rules
from sitebot.rulebook.model import Rule
from sitebot.rulebook.search import Hit, Index
from sitebot.rulebook.yaml_text import read_yaml


@dataclass(frozen=True)
class Rulebook:
    """All rules by id, and the index over their words."""

    rules: Mapping[str, Rule]
    index: Index

    @classmethod
    def load(cls, path: Path) -> Rulebook:
        """The rules of a folder; DataError names every fault of every file, one a line."""
        rules, faults = read_rules(path)
        if faults:
            raise DataError("\n".join(faults))
        return cls(rules, Index(rules.values(), small_words(path)))

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

    def search(self, text: str, language: str = "") -> list[Hit]:
        """Rules that fit the text, best first; empty where none does. Crews mix languages, so both are searched."""
        return self.index.search(text)


def small_words(path: Path) -> Iterable[str]:
    """Words that carry no matter, of every language."""
    for file in sorted(path.glob("words/*/asking.yaml")):
        yield from str(read_yaml(file).get("small_words", "")).split()


def check(path: Path) -> list[str]:
    """Every fault of a folder of rules, in its files or in what its own cases give; empty where all is well."""
    rules, faults = read_rules(path)
    if faults:
        return faults
    book = Rulebook(rules, Index(rules.values(), small_words(path)))
    return [fault for rule in rules.values() for fault in faults_of_cases(rule, book.search)]
