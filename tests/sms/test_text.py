"""Texts as SMS: what they cost, where they are divided, what is folded. Sizes are of 3GPP TS 23.038 and TS 23.040."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitebot.channels.sms import cut, encoding, fold, parts
from sitebot.wording import gsm
from sitebot.wording.parts import ALONE, OF_SEVERAL, units

ROOM = {"gsm7": (160, 153), "ucs2": (70, 67)}
TEXTS = st.text(
    st.one_of(st.sampled_from("aé€[]\\áñ¿🚧👷🏽‍\n "), st.characters(exclude_categories=["Cs"])), max_size=700
)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a", 1),
        ("a" * 160, 1),
        ("a" * 161, 2),
        ("a" * 306, 2),
        ("a" * 307, 3),
        ("a" * 159 + "€", 2),
        ("á", 1),
        ("á" * 70, 1),
        ("á" * 71, 2),
        ("á" * 134, 2),
        ("á" * 135, 3),
        ("🚧" * 35, 1),
        ("🚧" * 36, 2),
        ("", 1),
    ],
)
def test_number_of_parts(text, wanted):
    """160/153 septets and 70/67 units (TS 23.038 6.1.2, TS 23.040 9.2.3.24.1)."""
    assert len(parts(text)) == wanted


@pytest.mark.parametrize("c", "^{}\\[~]|€\f")
def test_extension_characters_take_two_septets(c):
    """The whole extension table of TS 23.038 6.2.1.1, and back."""
    assert gsm.septets(c)[0] == 0x1B
    assert gsm.of_septets(gsm.septets(c)) == c
    assert units(c) == 2


@pytest.mark.parametrize("c", "áíóúÁÍÓÚç`\t“—…°🚧")
def test_characters_that_the_default_alphabet_lacks(c):
    """Ordinary Spanish is not in it."""
    assert encoding(c) == "ucs2"


@pytest.mark.parametrize("text", ["a" * 152 + "€", "€" * 100, "á" + "a" * 65 + "🚧" + "b" * 9, "🚧" * 40])
def test_nothing_is_split_in_the_middle(text):
    """The four texts that published splitters damage keep their pairs whole."""
    divided = parts(text)
    assert "".join(divided) == text
    for part in divided:
        assert encoding(part) == encoding(text) or units(part) <= OF_SEVERAL["gsm7"]
        part.encode("utf-16-be")


@given(TEXTS)
def test_parts_joined_are_the_text_and_each_fits(text):
    """No text is lost, and no part is larger than what an SMS holds."""
    divided = parts(text)
    how = encoding(text)
    assert "".join(divided) == text
    room = ALONE[how] if len(divided) == 1 else OF_SEVERAL[how]
    for part in divided:
        size = len(gsm.septets(part)) if how == "gsm7" else len(part.encode("utf-16-be")) // 2
        assert size <= room == ROOM[how][len(divided) > 1]


@given(st.text(st.sampled_from(gsm.BASIC.replace("\x1b", "") + "".join(gsm.EXTENSION)), max_size=200))
def test_septets_there_and_back(text):
    """The default alphabet loses nothing."""
    assert gsm.of_septets(gsm.septets(text)) == text


def test_a_family_of_signs_stays_in_one_part():
    """A worker with skin tone is one sign of several; it is moved whole to the next part."""
    assert parts("á" + "a" * 64 + "👷🏽‍♂️" + "b" * 20)[1].startswith("👷🏽‍♂️")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("¿Qué pasó? más ñandú", "¿Qué paso? mas ñandu"),
        ("“ok” — 3 to 5…", '"ok" - 3 to 5...'),
        ("350°F", "350 deg F"),
        ("22½°, 4½ in and ⅜ in", "22 1/2 deg, 4 1/2 in and 3/8 in"),
        ("a\u00a0b\u200b\u2011c", "a b-c"),
        ("Ça va, Façade", "Ça va, Facade"),
        ("e\u0301", "é"),
        ("6 × 3/8″ ≤ 10 %", '6 x 3/8" <= 10 %'),
    ],
)
def test_folding_costs_no_meaning(text, wanted):
    """Typographic marks and accents without a septet become plain; those that GSM-7 has stay."""
    assert fold(text) == wanted
    assert encoding(wanted) == "gsm7"


def test_accents_stay_where_ucs2_is_needed_anyway():
    """A name in another script costs UCS-2; then nothing is gained by losing accents."""
    assert fold("José 李 más") == "José 李 más"


def test_accents_stay_where_the_site_wants_them():
    """With folding off the text keeps its accents and still loses the degree sign."""
    assert fold("Está a 350°F", accents=False) == "Está a 350 deg F"


@given(TEXTS)
def test_folding_twice_is_folding_once(text):
    """Nothing folded is folded further."""
    assert fold(fold(text)) == fold(text)


def test_a_text_that_fits_is_not_cut():
    """Three parts exactly stay whole."""
    assert cut("a" * 459) == ("a" * 459, "")


def test_cut_between_sentences():
    """A long answer ends behind a sentence, offers the rest, and the rest begins with the next one."""
    text = "Cut the piece square and clamp it. " * 30
    first, rest = cut(text, 3, " (text MORE)")
    assert first.endswith("it. (text MORE)")
    assert rest.startswith("Cut the")
    assert len(parts(first)) <= 3


@given(TEXTS, st.integers(1, 3), st.sampled_from(["", " (text MORE)", " (mande MÁS)"]))
def test_cut_loses_only_space(text, limit, offer):
    """What is sent first fits, and first and rest together hold every character that is no space."""
    first, rest = cut(text, limit, offer)
    assert len(parts(first)) <= limit
    whole = (first.removesuffix(offer) if rest else first) + rest
    assert [c for c in whole if not c.isspace()] == [c for c in text if not c.isspace()]
