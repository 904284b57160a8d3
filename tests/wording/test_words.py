"""The words of each language: the same keys, the same values in them, letters a text message carries."""

import re

import pytest

from sitebot.message import Say, Term
from sitebot.rulebook import rules_folder
from sitebot.wording import render
from sitebot.wording.fit import fit
from sitebot.wording.render import list_text, phrases, ranges_text, terms

GSM = set(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿"
    "abcdefghijklmnopqrstuvwxyzäöñüà^{}\\[~]|€"
)
#: Folded by the channel to a letter that GSM-7 has.
FOLDED = set("áíóúÁÍÓÚ")


def test_each_language_has_the_same_files():
    """A language is one folder, and every folder holds the same files."""
    names = [
        {
            str(p.relative_to(rules_folder() / "words" / language))
            for p in (rules_folder() / "words" / language).rglob("replies/*.yaml")
        }
        for language in ("en", "es")
    ]
    assert names[0] == names[1]


def test_each_language_has_the_same_phrases_and_terms():
    """No phrase and no noun is missing in a language."""
    assert phrases("en").keys() == phrases("es").keys()
    assert terms("en").keys() == terms("es").keys()


def values_of(template):
    return set(re.findall(r"\{(\w+)\}", template))


def test_each_phrase_speaks_of_the_same_values_in_each_language():
    """A value told in English is told in Spanish."""
    different = {
        k: (v, phrases("es")[k]) for k, v in phrases("en").items() if values_of(v) != values_of(phrases("es")[k])
    }
    assert different == {}


@pytest.mark.parametrize("language", ["en", "es"])
def test_phrases_keep_to_letters_of_a_text_message(language):
    """No degree sign, no curly quote: one letter outside GSM-7 cuts a part to 70 characters."""
    odd = {k: sorted(set(v) - GSM - FOLDED) for k, v in phrases(language).items() if set(v) - GSM - FOLDED}
    assert odd == {}


def test_an_empty_value_takes_its_brackets_along():
    """What nobody reported is left out of the sentence."""
    say = Say(
        "splices.recorded", {"numbers": [4], "kinds": [Say("splices.of_kind", {"n": 1, "kind": Term("kind.tee")})]}
    )
    assert render(say, "en") == "#4: 1 tee. Recorded, to be inspected."


@pytest.mark.parametrize(
    ("numbers", "text"),
    [([1, 2, 3, 6], "1-3, 6"), ([7, 8], "7, 8"), ([4], "4"), ([], ""), ([9, 3, 4, 5, 3], "3-5, 9")],
)
def test_numbers_are_written_as_ranges(numbers, text):
    """Runs of three and more become a range."""
    assert ranges_text(numbers) == text


def test_names_in_a_row():
    """The last one with and, y."""
    assert list_text(["Ana", "Beto", "Cy"], "en") == "Ana, Beto and Cy"
    assert list_text(["Ana", "Beto"], "es") == "Ana y Beto"


def test_a_long_text_is_cut_between_sentences_and_offers_the_rest():
    """Nothing is lost between the first piece and what "more" brings."""
    text = " ".join(f"Sentence number {n} of many." for n in range(40))
    first, rest = fit(text, "en")
    assert len(first) <= 459
    assert first.endswith(" (text MORE)")
    assert first.removesuffix(" (text MORE)") + " " + rest == text
