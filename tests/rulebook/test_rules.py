"""The rules as they ship: each brings its cases, and each case is an item with a sentence for its name."""

from __future__ import annotations

import pytest

from sitebot.rulebook import Rulebook, check, rules_folder
from sitebot.rulebook.cases import fault_of_case, sentence

BOOK = Rulebook.load(rules_folder())
CASES = [(rule, case) for rule in BOOK.rules.values() for case in rule.cases]


@pytest.mark.parametrize(("rule", "case"), CASES, ids=[sentence(r, c) for r, c in CASES])
def test_a_rule_gives_what_its_own_case_says(rule, case):
    """The limits or the answers of a rule give what its case expects, and a search brings the rule."""
    assert fault_of_case(rule, case, BOOK.search) == ""


def test_no_fault_is_found_in_the_rules_that_ship():
    """Files, sources, letters and cases of rules/ are whole."""
    assert check(rules_folder()) == []


@pytest.mark.parametrize("rule", BOOK.rules.values(), ids=lambda r: r.id)
def test_each_rule_brings_at_least_one_case(rule):
    """A rule without a case is a rule nobody has tried."""
    assert rule.cases


@pytest.mark.parametrize("rule", BOOK.rules.values(), ids=lambda r: r.id)
def test_what_a_rule_says_fits_one_part(rule):
    """Texts of a rule keep inside 160 characters in both languages."""
    texts = [rule.says, *(c.says for c in rule.answers)]
    assert [t for pair in texts for t in (pair.en, pair.es) if len(t) > 160] == []


def test_the_ten_listed_defects_of_the_guide_specification_are_rules():
    """UFGS-03150A 3.2.3.3 lists ten defects (W-01 to W-11); each has a rule that cites it."""
    ten = [
        "strength",
        "lap",
        "bulb_in_line",
        "ribs_in_line",
        "section_loss",
        "bond_gap",
        "run",
        "porosity",
        "char",
        "bubbles",
        "bend",
    ]
    cites = {name: BOOK.rule(f"acceptance.{name}").cites for name in ten}
    assert [n for n, c in cites.items() if "UFGS-03150A, 3.2.3.3" not in c] == []


def test_the_hash_of_a_rule_changes_with_its_content():
    """A verdict keeps id and hash; a rule with another limit has another hash, its cases do not matter."""
    rule = BOOK.rule("acceptance.bond_gap")
    other = rule.model_copy(update={"limits": rule.limits[:1]})
    assert rule.hash != other.hash
    assert rule.hash == rule.model_copy(update={"cases": ()}).hash
