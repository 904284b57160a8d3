"""The network's words (STOP, START, HELP) and what the channel says by itself; both are data beside this module.

Pure once loaded. What follows from a word is settled in courtesy.py and channel.py.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, cast

import yaml

from sitebot.message import Language

Word = Literal["stop", "start", "resume", "help"]
Phrase = Literal["greeting", "greeting_stranger", "stopped", "started", "help", "again"]

_HERE = Path(__file__).parent
#: Longer texts say something else besides.
_MOST_CHARACTERS = 80
_BRACES = re.compile(r"{(\w+)}")


@dataclass(frozen=True, slots=True)
class _Forms:
    words: frozenset[str]
    pattern: re.Pattern[str]


def word_of(text: str) -> Word | None:
    """The network's word that a whole text is, in any reasonable wording; None for everything else.

    "resume" (yes, alta ...) is such a word only from somebody who had stopped.
    """
    if len(text) > _MOST_CHARACTERS:
        return None
    plain = _plain(text)
    for said in dict.fromkeys((plain, _without_courtesies(plain))):
        for word, forms in _forms().items():
            if said in forms.words or forms.pattern.fullmatch(said):
                return word
    return None


def phrase(key: Phrase, language: Language, values: Mapping[str, str]) -> str:
    """One of the channel's own texts, without the clauses for which nothing is set."""
    clauses = _phrases()[key][language]
    full = [c for c in clauses if all(values.get(name) for name in _BRACES.findall(c))]
    return " ".join(c.format(**values) for c in full)


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.casefold()).replace("'", "").replace("’", "")
    letters = "".join(c for c in letters if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^\w]+", " ", letters).split())


def _without_courtesies(plain: str) -> str:
    before = ""
    while before != plain:
        before = plain
        plain = _courtesy().sub("", plain).strip()
    return plain


@cache
def _courtesy() -> re.Pattern[str]:
    words = "|".join(re.escape(w) for w in cast(list[str], _read("carrier_words.yaml")["courtesies"]))
    return re.compile(rf"^({words})\b(?=.)|(?<=.)\b({words})$")


@cache
def _forms() -> Mapping[Word, _Forms]:
    raw = _read("carrier_words.yaml")
    order: tuple[Word, ...] = ("stop", "start", "resume", "help")
    return {
        word: _Forms(frozenset(raw[word]["words"]), re.compile("|".join(raw[word].get("patterns", ["(?!)"]))))
        for word in order
    }


@cache
def _phrases() -> Mapping[str, Mapping[str, list[str]]]:
    return _read("phrases.yaml")


def _read(name: str) -> dict[str, dict[str, list[str]]]:
    # BaseLoader: "yes", "on" and "no" stay words.
    return cast(
        dict[str, dict[str, list[str]]],
        yaml.load((_HERE / name).read_text(encoding="utf-8"), Loader=yaml.BaseLoader),  # noqa: S506
    )
