"""Facts told by grammar: lists, slips of the tongue, corrections, what no fact accounts for."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from sitebot.understand import read
from sitebot.understand.context import Context, Gazetteer
from sitebot.understand.facts.explained import left_over
from sitebot.understand.facts.fill import fill, told
from sitebot.understand.facts.iron_events import told_event
from sitebot.understand.facts.plain import listed, plain
from sitebot.understand.marks import Text
from sitebot.understand.reading_marks import read_marks

INSPECTOR = Context(now=datetime(2026, 11, 25, 16, tzinfo=UTC), role="inspector")
CREW = Context(now=datetime(2026, 11, 25, 16, tzinfo=UTC))


def marked(text: str) -> Text:
    """The marks of a text without a site."""
    return read_marks(text, Gazetteer())


def numbers(text: Text) -> list[int]:
    """All plain numbers in order, ranges written out."""
    return [n for m in text.of("n", "range") for n in (m.value if isinstance(m.value, list) else [m.value])]


def facts(act: str, text: str, context: Context = CREW) -> list[dict[str, Any]]:
    """The facts of an act taken from a text."""
    return [dict(a.facts) for a in fill(act, marked(text), context)]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("S-14/15/16 OK", [14, 15, 16]),
        ("sp 21 thru sp 24 acc", [21, 22, 23, 24]),
        ("Sp#31 - Sp#33 acc", [31, 32, 33]),
        ("17/18 good, 19/20 bad", [17, 18, 19, 20]),
        ("los pares del 10 al 14 pasan", [10, 12, 14]),
    ],
)
def test_lists_with_tags_slashes_and_words_become_rows(text: str, found: list[int]) -> None:
    """However a list is written, all its numbers are there."""
    assert numbers(listed(marked(text))) == found


def test_a_fraction_of_an_inch_stays_a_length() -> None:
    """3/32 and 5/16 are no splices."""
    assert numbers(listed(marked("S-12 R gap 3/32, t=5/16"))) == [12]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("pier 2, 6 butts. no wait. 7 butts", [7]),
        ("hicimos 3, digo 4 rectos", [4]),
        ("rechazo la 28. perdon, la 82", [82]),
        ("No. 5, No. 6 and No. 7 pass", [5, 6, 7]),
        ("did 3 butts and 2 tees", [3, 2]),
    ],
)
def test_what_is_taken_back_in_the_same_breath_is_gone(text: str, kept: list[int]) -> None:
    """Only the value put right is left; a list keeps all."""
    assert numbers(plain(marked(text))) == kept


@pytest.mark.parametrize(
    ("text", "target", "change"),
    [
        ("the 44 is not a tee, it is a cross", 44, {"joint": "cross"}),
        ("12 was iron 3 not 1", 12, {"iron": "3"}),
        ("ponele 371 a la 54, puse 317", 54, {"temp_f": 371}),
        ("la que mande como 201 era la 210", 201, {"number": 210}),
        ("so sp 40 is actually sp 49", 40, {"number": 49}),
        ("eran 6 no 5", "last", {"count": 6}),
        ("el 12 no va en muro norte, va en muro sur", 12, {"place": "muro sur"}),
        ("Strike my reject on S-58. Should read accept.", 58, {"verdict": "accept"}),
        ("cambia el 25 de recto a cruz", 25, {"joint": "cross"}),
    ],
)
def test_a_correction_tells_the_old_value_from_the_right_one(text: str, target: object, change: dict[str, Any]) -> None:
    """ "X is not A but B" in its forms, in both languages."""
    assert facts("amend", text, INSPECTOR) == [{"target": target, "change": change}]


@pytest.mark.parametrize(
    ("text", "target"),
    [
        ("140 and 141 are the same weld. Drop 141.", 141),
        ("la 73 quitala, la apunte dos veces", 73),
        ("delete 55, its a dup of 54", 55),
        ("kill that last entry, it went thru twice", "last"),
    ],
)
def test_an_entry_is_voided_by_verbs_of_its_own(text: str, target: object) -> None:
    """The object of the verb goes, its twin stays."""
    assert facts("amend", text) == [{"target": target, "void": True}]


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("72 done, 5 on wall 3", [5]),
        ("did 4 butts on wall 3, took 2 hours", []),
        ("31 thru 36 done except 34", []),
    ],
)
def test_a_number_that_no_fact_holds_is_left_over(text: str, left: list[int]) -> None:
    """People, hours and exceptions are accounted for; a bare number is not."""
    row = marked(text)
    acts = fill("report_splices", row, CREW)
    held = [a for a in acts if not a.facts.get("clash")] or [type(a)(a.name, {"numbers": [72]}) for a in acts]
    assert left_over(held, told("report_splices", row), CREW) == left


@pytest.mark.parametrize(
    ("text", "event"),
    [
        ("new skin on iron 1, the old one was toast", "cover_changed"),
        ("la plancha chica bota la luz cada rato", "fault"),
        ("iron 2 wont go past 300", "fault"),
        ("iron 1 in at 6:05", "plugged_in"),
        ("iron 3 is over there", ""),
    ],
)
def test_an_iron_has_no_event_without_a_word_of_its_own(text: str, event: str) -> None:
    """Nothing is taken for a reading or for hot."""
    assert told_event(marked(text)) == event


@pytest.mark.parametrize(
    ("text", "verdicts"),
    [
        ("85 86 87 ok / 88 no ok", {"accept": [85, 86, 87], "reject": [88]}),
        ("S-70 A\nS-71 A\nS-72 R sep on bend\nS-73 A", {"accept": [70, 71, 73], "reject": [72]}),
        ("passed 50 through 54, el 55 reject", {"accept": [50, 51, 52, 53, 54], "reject": [55]}),
        ("12 y 13 pasan, tambien el 16, del 14 no dijo nada", {"accept": [12, 13, 16]}),
    ],
)
def test_each_verdict_goes_with_its_own_numbers(text: str, verdicts: dict[str, list[int]]) -> None:
    """Clause by clause; what is not judged gets none."""
    found = facts("report_inspection", text, INSPECTOR)
    assert {f["verdict"]: sorted(f["numbers"]) for f in found} == verdicts


@pytest.mark.parametrize(
    "text", ["did like 5 butts, maybe 6, wall 3", "started three butts, made 2 or so maybe, wall 3"]
)
def test_a_guess_is_no_count(text: str) -> None:
    """A hedged count is asked back."""
    assert read(text, CREW).unclear is not None


def test_a_finding_on_one_is_none_on_the_rest() -> None:
    """The void is the third's; the others are accepted without one."""
    text = "looked at 1 thru 4, 3 has a void by the bulb bout 3/32 deep, rest are fine"
    found = facts("report_inspection", text, INSPECTOR)
    assert [(f["numbers"], f.get("defect")) for f in found] == [([3], "porosity"), ([1, 2, 4], None)]


def test_rework_by_sentence() -> None:
    """What is done and what is open are two acts."""
    found = facts("report_rework", "Hay que rehacer 61 y 64. La 70 ya la vi rehecha.")
    assert found == [{"numbers": [61, 64], "done": False}, {"numbers": [70], "done": True}]


def test_samples_of_two_irons() -> None:
    """Each iron has the verdict of its own clause."""
    found = facts("report_sample", "Probeta plancha 1 conforme, plancha 2 no conforme por poros.")
    assert [(f["iron"], f["verdict"]) for f in found] == [("1", "pass"), ("2", "fail")]


@pytest.mark.parametrize(
    ("text", "old", "new"),
    [
        ("cut 44 out and welded 91 in its place", [44], [91]),
        ("91 is the redo of 44", [44], [91]),
        ("44 and 45 redone as 91 and 92", [44, 45], [91, 92]),
        ("swapped out 44 for 91", [44], [91]),
        ("la 44 se rehizo, la nueva es la 91", [44], [91]),
        ("la 91 reemplaza a la 44", [44], [91]),
        ("El 88 fue sustituido por dos empalmes nuevos, 110 y 111", [88], [110, 111]),
        ("rehice la 12 y la 13", [12, 13], None),
    ],
)
def test_a_redo_tells_the_old_number_from_the_new_one(text: str, old: list[int], new: list[int] | None) -> None:
    """Two numbers of a redo are one weld replaced by another, never two welds redone."""
    told = facts("report_rework", text)[0]
    assert (old, new) == (told["numbers"], told.get("new_numbers"))


@pytest.mark.parametrize(
    ("text", "done", "still_open"),
    [
        ("4 done, 5 done, 7 open, all rejects", [4, 5], [7]),
        ("la 14 rehecha, la 15 también, la 16 todavía", [14, 15], [16]),
        ("ya corté la 12, en la tarde la sueldo otra vez", [], [12]),
        ("we will redo 44 tomorrow", [], [44]),
        ("la 71 se va a reponer el martes", [], [71]),
        ("estamos cortando la 12 para rehacerla", [], [12]),
    ],
)
def test_a_redo_is_done_only_where_it_is_told_as_done(text: str, done: list[int], still_open: list[int]) -> None:
    """Each number has the state said with it; what is to come is open."""
    told = {f["done"]: f["numbers"] for f in facts("report_rework", text)}
    assert (done, still_open) == (told.get(True, []), told.get(False, []))


@pytest.mark.parametrize("number", [1999, 2000, 3120, 12001])
def test_a_long_job_s_numbers_are_numbers(number: int) -> None:
    """From 2000 on too, once the log has come so far."""
    context = Context(now=CREW.now, highest=number - 1)
    (act,) = read(f"splice {number} butt wall B21 done", context).acts
    assert act.facts["numbers"] == [number]
