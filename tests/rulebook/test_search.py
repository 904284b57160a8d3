"""Search over the rules: the right one first, spelling mended, and nothing where nothing fits."""

from __future__ import annotations

import pytest

from sitebot.rulebook import Rulebook, rules_folder

BOOK = Rulebook.load(rules_folder())


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("how big should the bead get", "practice.bead"),
        ("do we need welding gloves for this", "safety.gloves"),
        ("can i use super glue", "practice.method"),
        ("which saw for the miters", "practice.cutting_tool"),
        ("whats the temperature range", "practice.weld_heat"),
        ("a que temperatura se suelda", "practice.weld_heat"),
        ("hace mucho viento en la losa", "practice.wind"),
        ("cuantos ocupamos para el perfil grande, cuantos somos", "practice.crew_size"),
        ("se me quemo la mano, tengo una quemadura", "safety.burns"),
        ("is the splice porous, are pinholes allowed", "acceptance.porosity"),
    ],
)
def test_the_rule_asked_for_comes_first(text, rule):
    """Ordinary wording in either language brings its rule to the top of its folder."""
    assert rule == BOOK.search(text, folder=rule.partition(".")[0])[0].rule.id


@pytest.mark.parametrize(
    ("text", "rule"), [("wat tempreature do i weld at", "practice.weld_heat"), ("extingisher needed?", "safety.fire")]
)
def test_a_slip_of_spelling_is_mended(text, rule):
    """A letter missing or doubled does not lose the rule."""
    assert rule == BOOK.search(text)[0].rule.id


@pytest.mark.parametrize(
    "text", ["what time is lunch", "who won the game last night", "quien gano el partido", "hola jefe", "", "???", "42"]
)
def test_nothing_is_found_where_no_rule_fits(text):
    """Talk of other things brings no rule: none is made up."""
    assert BOOK.search(text) == []


def test_hits_come_best_first():
    """Scores fall from the first hit to the last."""
    scores = [hit.score for hit in BOOK.search("hot iron left alone, fire and fumes, no gloves")]
    assert sorted(scores, reverse=True) == scores
    assert len(scores) > 1
