"""The trade lexicon: phrases by meaning, read once from rules/words/<language>/lexicon.

A phrase is plain words; ``(a|b)`` gives a choice, ``word*`` any ending, a lone ``*`` up to three words between,
``{soldar.done}`` the forms of a Spanish verb (conjugate.py).
No meaning is decided here and no text of a user is read here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

from sitebot.rulebook import rules_folder
from sitebot.rulebook.word_lists import LANGUAGES
from sitebot.rulebook.yaml_text import read_yaml
from sitebot.understand.conjugate import conjugated
from sitebot.understand.spelling import plain

#: A phrase does not reach over a stop.
_GAP = r"(?:[^\s.,;:!?]+ ){0,3}?"


@cache
def phrases() -> dict[str, tuple[str, ...]]:
    """Meaning to phrases, all languages together: crews mix them in one sentence."""
    found: dict[str, list[str]] = {}
    for language in LANGUAGES:
        for path in sorted((rules_folder() / "words" / language / "lexicon").glob("*.yaml")):
            for key, values in (read_yaml(path) or {}).items():
                found.setdefault(key, []).extend(values if isinstance(values, list) else [values])
    return {key: tuple(with_forms(v) for v in values) for key, values in found.items()}


@cache
def _irregular() -> dict[str, dict[str, str]]:
    return dict(read_yaml(rules_folder() / "words" / "es" / "verbs.yaml"))


def with_forms(phrase: str) -> str:
    """The phrase with its verbs written out as choices."""

    def forms(match: re.Match[str]) -> str:
        found = (f for verb in match[1].split() for f in conjugated(verb, match[2], _irregular()))
        return f"({'|'.join(dict.fromkeys(found))})"

    return re.sub(r"\{([a-z ]+)\.(\w+)\}", forms, phrase)


def _piece(text: str) -> str:
    lead, tail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :] if text.strip() else ""
    return lead + plain(text.strip()) + tail if text.strip() else text


def expression(phrase: str) -> str:
    """A phrase as an expression over plain padded words."""
    out = []
    for piece in re.split(r"(\(|\)\?|\)|\||(?<=\w)\*|\*|\?|<\w+>)", phrase):
        out.append(_piece(piece) if piece and piece[0] not in "()|*?<" else piece)
    text = "".join(out)
    text = re.sub(r"(?<=\w)\*", r"\\S*", text)
    return text.replace("(", "(?:").replace(" * ", " " + _GAP)


@cache
def pattern(key: str) -> re.Pattern[str]:
    """One expression for all phrases of a meaning; it is searched in text padded with single spaces."""
    parts = sorted((expression(p) for p in phrases().get(key, ())), key=len, reverse=True)
    return re.compile(r"(?<= )(?:" + "|".join(parts or ["(?!)"]) + r")(?= )")


@cache
def each_pattern(key: str) -> tuple[re.Pattern[str], ...]:
    """An expression for each phrase, for those who look for the longest."""
    return tuple(re.compile(rf"(?<= )(?:{expression(p)})(?= )") for p in phrases().get(key, ()))


@cache
def all_keys() -> tuple[str, ...]:
    """All meanings, sorted."""
    return tuple(sorted(phrases()))


@cache
def known_words() -> frozenset[str]:
    """Every word that stands in a phrase."""
    return frozenset(_words(p for values in phrases().values() for p in values))


def _words(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        for word in re.findall(r"[a-z]+", plain(re.sub(r"<\w+>", " ", text))):
            if len(word) > 1:
                yield word
