"""The network's words in any reasonable wording, and nothing of the trade taken for one."""

import re
from pathlib import Path

import pytest
import yaml

from sitebot.channels.sms import encoding, fold, parts
from sitebot.channels.sms.words import phrase, word_of

RULES = Path(__file__).parents[2] / "rules" / "words"
VALUES = {
    "name": "Sitebot",
    "site": "Clear-water tank 2",
    "emergency": "911",
    "address": "Gate 3, Mesa Road",
    "contact": "+1 303 555 0161",
}


@pytest.mark.parametrize("text", ["stop", "quit", "end", "revoke", "opt out", "cancel", "unsubscribe"])
def test_words_of_the_rule(text):
    """47 CFR 64.1200(a)(10) names these seven."""
    assert word_of(text.upper()) == word_of(f" {text}. ") == "stop"


@pytest.mark.parametrize(
    "text",
    [
        "STOPALL",
        "opt-out",
        "Please stop texting me",
        "stop sending me messages",
        "don’t text me anymore",
        "Do not contact me again",
        "no more texts please",
        "I don't want any more messages",
        "take me off this list",
        "remove me from your list",
        "unsubscribe me",
        "leave me alone",
        "I want to opt out",
        "ALTO",
        "Baja",
        "cancelar",
        "no más",
        "Ya no me manden mensajes",
        "no me escriban",
        "dejen de mandarme mensajes por favor",
        "ya no quiero recibir mensajes",
        "quítenme de la lista",
        "dame de baja",
        "no más mensajes, gracias",
    ],
)
def test_any_reasonable_wording_stops(text):
    """Other wording counts too where a reasonable person would read it so (47 CFR 64.1200(a)(10))."""
    assert word_of(text) == "stop"


@pytest.mark.parametrize(
    "text",
    [
        "stop the pour",
        "stop at 4",
        "cancel that last one",
        "end of joint 3 welded",
        "muro alto",
        "no mas 2 uniones",
        "it was a dead end",
        "start 6:30",
        "no info on iron 2",
        "that's the end piece",
        "2 butts, stop",
        "no",
        "ok",
        "",
        "stop " * 20,
    ],
)
def test_talk_of_the_trade_is_none(text):
    """A word within a sentence is the crew's own."""
    assert word_of(text) is None


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("START", "start"),
        ("unstop", "start"),
        ("yes", "resume"),
        ("Sí", "resume"),
        ("ALTA", "resume"),
        ("HELP", "help"),
        ("help!!", "help"),
        ("info?", "help"),
        ("ayuda por favor", "help"),
        ("auxilio", "help"),
    ],
)
def test_start_and_help(text, word):
    """They are answered always; yes and its like only bring back who had stopped."""
    assert word_of(text) == word


KEYS = ["greeting", "greeting_stranger", "stopped", "started", "help", "again"]


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("key", KEYS)
def test_own_texts_are_one_part(key, language):
    """What the channel says by itself is one part of the default alphabet, whatever the name of the site."""
    longest = VALUES if key == "help" else VALUES | {"site": "x" * 60}
    text = fold(phrase(key, language, longest))
    assert encoding(text) == "gsm7"
    assert len(parts(text)) == 1


def test_help_leads_with_the_emergency_line():
    """Who asks for help may be hurt; what is not set is left out."""
    assert phrase("help", "en", VALUES).startswith("EMERGENCY: call 911. Here: Gate 3, Mesa Road.")
    assert "Here:" not in phrase("help", "en", VALUES | {"address": ""})


def test_greeting_says_who_why_and_how_to_stop():
    """The first message to a number."""
    for language in ("en", "es"):
        said = phrase("greeting", language, VALUES)
        assert all(part in said for part in ("Sitebot", "Clear-water tank 2", "STOP"))


def test_no_reply_asks_for_a_word_of_the_network():
    """Such a word never reaches us, or ends all texts: no phrase may ask people to send one for anything else."""
    asks = re.compile(r"(?i)\b(?:reply|text|send|say|answer|mande|conteste|responda|diga)\s+[\"']?(\w+)")
    for path in RULES.rglob("replies/*.yaml"):
        for key, template in yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader).items():
            if key.startswith("roster.stopped"):
                continue  # what is said about stopping names the words that do it
            for said in asks.findall(str(template)):
                assert not (said.isupper() and word_of(said)), f"{path}: {key} asks for {said}"
