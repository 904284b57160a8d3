"""What is told anew of splices just reported: their kind, or that one is not made after all."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from sitebot.acts import Act
from sitebot.understand import read
from sitebot.understand.context import Context, Gazetteer

MADE = Act("report_splices", {"count": 2, "joint": "unknown", "made": [7, 8]})
BUTTS = Act("report_splices", {"count": 2, "joint": "butt", "made": [7, 8]})


def after(act: Act) -> Context:
    return Context(now=datetime(2026, 11, 25, 16, tzinfo=UTC), last=(act,), highest=8)


@pytest.mark.parametrize("text", ["butts", "they were butts", "both straight", "rectos", "eran rectos los dos"])
def test_their_kind_comes_after_them(text: str) -> None:
    """Of splices whose kind nobody told."""
    (act,) = read(text, after(MADE)).acts
    assert (act.name, act.facts) == ("amend", {"target": [7, 8], "change": {"joint": "butt"}})


def test_a_kind_told_before_changes_only_by_a_word_for_it() -> None:
    """ "corners" after butts is no correction, "they were flat corners" is one."""
    (act,) = read("they were flat corners", after(BUTTS)).acts
    assert act.facts == {"target": [7, 8], "change": {"joint": "flat_corner"}}
    assert "amend" not in {a.name for a in read("flat corners", after(BUTTS)).acts}


@pytest.mark.parametrize("text", ["no wait 8 is not done yet", "8 isnt done", "la 8 todavía no está hecha"])
def test_what_is_not_made_after_all_is_taken_back(text: str) -> None:
    """The number itself, and no number of splices."""
    (act,) = read(text, after(MADE)).acts
    assert (act.name, act.facts) == ("amend", {"target": 8, "void": True})


def test_a_number_of_nobody_s_is_not() -> None:
    """9 was not reported."""
    assert "amend" not in {a.name for a in read("9 is not done yet", after(MADE)).acts}


@pytest.mark.parametrize("text", ["with iron 1 at 372", "con el fierro 1 a 372", "used iron 1 at 372"])
def test_how_they_were_made_comes_after_them(text: str) -> None:
    """Iron and heat of what was just reported, and no reading of the iron."""
    (act,) = read(text, after(MADE)).acts
    assert (act.name, act.facts) == ("amend", {"target": [7, 8], "change": {"iron": "1", "temp_f": 372.0}})


def test_an_iron_at_a_heat_is_a_reading() -> None:
    """Without a word that ties it to the splices."""
    (act,) = read("iron 1 at 372", after(MADE)).acts
    assert act.name == "report_iron"


@pytest.mark.parametrize("text", ["me and Amaro did them", "las hicimos Amaro y yo", "that was Amaro and me"])
def test_who_made_them_comes_after_them(text: str) -> None:
    """The people of what was just reported."""
    site = Context(now=after(MADE).now, last=(MADE,), highest=8, gazetteer=Gazetteer(people=("Tobin", "Amaro")))
    (act,) = read(text, site).acts
    assert act.facts["target"] == [7, 8]
    assert sorted(act.facts["change"]["welders"]) == ["Amaro", "me"]
