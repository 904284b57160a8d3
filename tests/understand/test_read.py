"""What a text means: acts and facts, and what is asked instead of recorded."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from sitebot.understand import explain, read
from sitebot.understand.context import Context

NOW = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)


def first(text: str, role: str = "crew"):
    """The chief act of a text."""
    return read(text, Context(now=NOW, role=role)).acts[0]


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        ("zapped 3 butts and a tee on wall 9", {"count": 4, "place": "wall 9"}),
        ("31 thru 34 done except 33, butts", {"numbers": [31, 32, 34], "count": 3}),
        ("#12 tee in at the weir iron 2 371", {"numbers": [12], "joint": "tee", "iron": "2", "temp_f": 371}),
        ("hicimos 5 hoy: 3 rectas y 2 tees en el colado 7", {"count": 5}),
        ("made 7, digo 6 butts on slab 2", {"count": 6}),
    ],
)
def test_reports_of_splices(text: str, facts: dict) -> None:
    """Counts, numbers, kinds and places of a report."""
    act = first(text)
    assert act.name == "report_splices"
    assert facts == {key: act.facts.get(key) for key in facts}


@pytest.mark.parametrize("text", ["did a few on the weir", "did 4 today, 12 thru 16", "soldamos varios en el muro 3"])
def test_a_report_without_its_count_is_asked_about(text: str) -> None:
    """No number is guessed."""
    reading = read(text, Context(now=NOW))
    assert reading.acts == ()
    assert reading.unclear is not None


@pytest.mark.parametrize(
    "text",
    [
        "how many butts today",
        "gonna do 3 tees on wall 5 after lunch",
        "if 31 gets passed can lift 6 go",
        "is 45 fixed yet",
    ],
)
def test_a_question_a_plan_or_a_hypothesis_is_no_report(text: str) -> None:
    """What nobody reported is not recorded."""
    reading = read(text, Context(now=NOW))
    assert not [a.name for a in reading.acts if a.name.startswith("report_")]


def test_two_verdicts_are_two_acts() -> None:
    """Each verdict of a text is one act."""
    acts = read("12 and 13 pass, 14 rejected for pores", Context(now=NOW, role="inspector")).acts
    assert [(a.facts["verdict"], a.facts["numbers"]) for a in acts] == [("accept", [12, 13]), ("reject", [14])]


def test_a_verdict_passed_on_is_marked() -> None:
    """Somebody else's verdict is relayed."""
    assert first("the inspector passed 12 and 13").facts["relayed"] is True


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        ("wall kicks 30 deg flat, what do i set the saw", {"turn_deg": 30, "plane": "flat"}),
        ("inside corner of 120 flat, cut?", {"inside_deg": 120, "turn_deg": 60}),
        ("esquina de 70, que corte le doy", {"number_deg": 70}),
        ("square tee. saw?", {"legs_deg": [90, 90, 180]}),
    ],
)
def test_cuts(text: str, facts: dict) -> None:
    """Turn, inside angle, bare number and legs."""
    act = first(text)
    assert act.name == "ask_cut"
    assert facts == {key: act.facts.get(key) for key in facts}


@pytest.mark.parametrize(
    ("text", "target", "change"),
    [
        ("12 was iron 1 not 2", 12, {"iron": "1"}),
        ("oops its 5 not 4 on wall 7", "last", {"count": 5}),
        ("el 22 no era tee, era cruz", 22, {"joint": "cross"}),
    ],
)
def test_corrections(text: str, target: object, change: dict) -> None:
    """What a correction is about and what it changes."""
    act = first(text)
    assert (target, change) == (act.facts["target"], act.facts["change"])


def test_a_clause_may_carry_a_matter_of_its_own() -> None:
    """Two facts in one text are two acts."""
    assert [a.name for a in read("3 more butts wall 7, and iron 1 is unplugged now", Context(now=NOW)).acts] == [
        "report_splices",
        "report_iron",
    ]


def test_an_unsafe_plan_comes_first() -> None:
    """A danger is named."""
    act = first("gonna dunk the iron in the bucket so we can go home")
    assert (act.name, act.facts["danger"]) == ("unsafe_plan", "quench")


def test_explain_shows_every_station() -> None:
    """The table names the marks, the mood, the scores and the act."""
    assert {"words", "mood", "score", "act"} <= {row[0] for row in explain("2 butts wall 3 done", Context(now=NOW))}
