"""Words made whole: conjugated verbs, what a phone misheard, and words without vowels."""

from __future__ import annotations

import pytest

from sitebot.understand import lexicon
from sitebot.understand.conjugate import conjugated
from sitebot.understand.context import Gazetteer
from sitebot.understand.model import packed
from sitebot.understand.reader import speller
from sitebot.understand.reading_marks import read_marks

ODD = {"hacer": {"preterite": "hic", "participle": "hech", "first": "hag"}}


def masked(text: str) -> str:
    """The masked row of a text."""
    return read_marks(text, Gazetteer(), speller(packed())).row()[0].strip()


@pytest.mark.parametrize(
    ("verb", "form"),
    [("soldar", "soldaron"), ("pegar", "pegue"), ("rehacer", "rehizo"), ("rehacer", "rehechas"), ("unir", "unieron")],
)
def test_what_was_done_is_told_in_every_person(verb: str, form: str) -> None:
    """Regular verbs follow their ending, compounds the verb they are made of."""
    assert form in conjugated(verb, "done", ODD)


def test_every_meaning_of_the_lexicon_can_be_searched() -> None:
    """No phrase of any meaning is broken, and none matches an empty text."""
    assert not [key for key in lexicon.all_keys() if lexicon.pattern(key).search("  ")]


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("splice forty to has pours on the bulb side", "splice <n> has pores on the bulb side"),
        ("we finished for tease at wall ate", "we finished <n> tees at <place>"),
        ("go to wall 3 for the butts", "go to <place> for the butts"),
        ("from thirty to thirty five", "from <range>"),
    ],
)
def test_homophones_are_put_right_only_where_nothing_else_can_be_meant(heard: str, meant: str) -> None:
    """A dictated number is a number; the same words elsewhere stay words."""
    assert masked(heard) == meant


def test_words_without_vowels_are_the_frequent_words_they_stand_for() -> None:
    """Consonants alone are enough for the words every crew uses."""
    assert masked("3 bts dn nrth wll, irn 2") == "<n> butts done <place> , <iron>"
