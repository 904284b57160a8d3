"""Each station of the reader, by what it takes from a text."""

from __future__ import annotations

import pytest

from sitebot.understand.context import Gazetteer
from sitebot.understand.facts.rows import excepted, rows
from sitebot.understand.facts.verdicts import verdict_of
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_planned, is_question, is_supposed
from sitebot.understand.people import welders
from sitebot.understand.reading_marks import read_marks
from sitebot.understand.repair import Speller
from sitebot.understand.spelling import clean, contract, fold
from sitebot.understand.tokens import read_tokens


def marks(text: str, *kinds: str) -> list:
    """Values of the marks of some kinds."""
    return [m.value for m in read_marks(text, Gazetteer()).of(*kinds)]


def read(text: str) -> Text:
    """The marks of a text without a site."""
    return read_marks(text, Gazetteer())


@pytest.mark.parametrize(
    ("text", "tidied"),
    [("it’s 2½", "it's 2 1/2"), ("“ok”", '"ok"'), ("12–15", "12-15"), ("iro\u200bn", "iron"), ("ｉｒｏｎ", "iron")],
)
def test_one_form_for_what_is_written_many_ways(text: str, tidied: str) -> None:
    """Quotes, dashes, widths, hidden marks and vulgar fractions get one form."""
    assert clean(text) == tidied


@pytest.mark.parametrize(
    ("text", "written"), [("won't", "will not"), ("dont", "do not"), ("whats", "what is"), ("we'll", "we will")]
)
def test_contractions_are_written_out_with_and_without_apostrophe(text: str, written: str) -> None:
    """A contraction reads the same however it is typed."""
    assert contract(fold(text)) == written


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("three seventy five", [375]),
        ("a hundred and five", [105]),
        ("one oh eight", [108]),
        ("half a dozen", [6]),
        ("ciento ochenta y cinco", [185]),
        ("doscientos uno", [201]),
        ("treintaicinco", [35]),
        ("mil quinientos", [1500]),
        ("uno coma cinco", [1.5]),
        ("eighteen nineteen", [18, 19]),
        ("un dieciseisavo", [0.0625]),
        ("22 1/2", [22.5]),
    ],
)
def test_numbers_in_letters_and_parts(text: str, values: list[float]) -> None:
    """Number words of both languages, parts and mixed numbers give their value."""
    assert [t.value for t in read_tokens(text) if t.value is not None] == values


@pytest.mark.parametrize(("text", "value"), [("that one", []), ("cada uno", [])])
def test_one_is_a_number_only_where_it_counts(text: str, value: list[float]) -> None:
    """A pronoun is no count."""
    assert [t.value for t in read_tokens(text) if t.value is not None] == value


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("milimetro y medio sin pegar", "len", [1.5]),
        ("gap of 1,5 mm", "len", [1.5]),
        ("media pulgada", "len", [0.5]),
        ("quince por ciento", "pct", [15]),
        ("188 C", "temp", [370]),
        ("372f", "temp", [372]),
        ("45 deg turn", "ang", [45]),
        ("gen 2500w", "watt", [2500]),
        ("16 awg", "gauge", [16]),
        ("half an hour", "dur", [30]),
        ("hora y media", "dur", [90]),
    ],
)
def test_quantities_with_their_unit(text: str, kind: str, value: list[float]) -> None:
    """A number with a unit is a quantity; Celsius becomes Fahrenheit."""
    assert marks(text, kind) == value


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("unplugged at quarter to 5", "16:45"),
        ("a las 3 y media de la tarde", "15:30"),
        ("start 0530", "05:30"),
        ("done at 2pm", "14:00"),
        ("son las siete y diez", "07:10"),
        ("at 14:05", "14:05"),
        ("iron 2 plugd 610", "06:10"),
    ],
)
def test_clock_times(text: str, said: str) -> None:
    """Clock times as crews text them."""
    assert marks(text, "time") == [said]


@pytest.mark.parametrize(
    ("text", "iron"),
    [
        ("iron 1 is hot", "1"),
        ("the big iron", "big"),
        ("number two iron", "2"),
        ("plugged both irons", "all"),
        ("lo hice con la dos", "2"),
        ("la plancha chica", "small"),
    ],
)
def test_irons(text: str, iron: str) -> None:
    """The iron a text names."""
    assert marks(text, "iron") == [iron]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("2 butts wall 3", "wall 3"),
        ("3 en la losa de techo", "losa de techo"),
        ("all b3", "b3"),
        ("on the valve pit", "valve pit"),
        ("muro norte listo", "muro norte"),
        ("wall nine done", "wall 9"),
    ],
)
def test_places(text: str, place: str) -> None:
    """The place a text names, without a site file."""
    assert marks(text, "place") == [place]


def test_a_place_of_the_site_is_known_by_name_and_nickname() -> None:
    """The gazetteer comes before what a word looks like."""
    site = Gazetteer(places=("Zeta box",), nicknames={"the hole": "sump 2"})
    assert [m.value for m in read_marks("2 in at zeta box", site).of("place")] == ["Zeta box"]
    assert [m.value for m in read_marks("2 in at the hole", site).of("place")] == ["sump 2"]


@pytest.mark.parametrize(
    ("text", "heat"),
    [("iron 2 368", [368]), ("splices 301 302 303 done", []), ("375 on the pyro", [375]), ("#370 butt", [])],
)
def test_a_bare_heat_is_told_from_splice_numbers(text: str, heat: list[int]) -> None:
    """Three figures are a heat beside an iron and a number in a row of numbers."""
    assert marks(text, "temp") == heat


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("12 thru 15", (12, 13, 14, 15)),
        ("del 40 al 43", (40, 41, 42, 43)),
        ("18, 19 and 20", (18, 19, 20)),
        ("odd ones from 31 to 37", (31, 33, 35, 37)),
    ],
)
def test_rows_and_ranges(text: str, numbers: tuple[int, ...]) -> None:
    """Ranges and lists are rows of numbers."""
    assert [r.numbers for r in rows(read(text))] == [numbers]


@pytest.mark.parametrize("text", ["31 thru 35 except 33", "del 31 al 35 menos el 33", "all but 33"])
def test_exceptions(text: str) -> None:
    """A number after "except" is taken out."""
    assert excepted(read(text))[0] == [33]


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("4 butts me n teo", ["me", "Teo"]),
        ("con Lupe y Beny", ["Lupe", "Beny"]),
        ("Klaas and Jorun did it", ["Klaas", "Jorun"]),
        ("2 butts wall 3", []),
    ],
)
def test_people(text: str, names: list[str]) -> None:
    """Who did it, by name and by place in the sentence."""
    assert welders(read(text), Gazetteer()) == names


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        (" <n> is not acceptable ", "reject"),
        (" no objections to <range> ", "accept"),
        (" i was going to fail <n> but accept ", "accept"),
        (" el <n> no pasa ", "reject"),
        (" zero rejects ", "accept"),
        (" <n> hold want to see it cold ", ""),
        (" <n> not porous , not burnt ", "accept"),
    ],
)
def test_verdicts(words: str, verdict: str) -> None:
    """The longest phrase counts, and what is denied counts as its opposite."""
    assert verdict_of(words) == verdict


@pytest.mark.parametrize(
    ("text", "asks"),
    [
        ("is iron 1 hot", True),
        ("did 6 butts on wall 3", False),
        ("can you log 86 and 87", False),
        ("le doy?", True),
        ("a cuanto pongo la sierra", True),
        ("19 ok?", True),
        ("12 passes", False),
    ],
)
def test_questions_are_heard_without_a_mark(text: str, asks: bool) -> None:
    """Who asks is heard from the words."""
    assert is_question(read(text)) is asks


def test_plans_and_hypotheses_are_heard() -> None:
    """What is planned or supposed is not told as done."""
    assert is_planned(read("gonna do 3 tees after lunch"))
    assert is_supposed(read("say 20 fails"))
    assert not is_planned(read("did 3 tees"))


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("enpalme", "empalme"),
        ("rechasado", "rechazado"),
        ("plnacha", "plancha"),
        ("corenr", "corner"),
        ("marla", "marla"),
    ],
)
def test_spelling_is_mended_by_sound_and_by_slip(typed: str, meant: str) -> None:
    """A known word one slip or one sound away; names and numbers are left alone."""
    assert Speller()(typed) == meant
