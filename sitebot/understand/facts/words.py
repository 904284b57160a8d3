"""The small words by which facts are told apart, from rules/words/<language>/facts.yaml and
the files beside it that the keys name, both languages together.

They are no part of what the choice of the act looks at (that is the lexicon).
"""

from __future__ import annotations

import re
from functools import cache

from sitebot.rulebook.word_lists import word_lists
from sitebot.understand import lexicon
from sitebot.understand.spelling import plain


@cache
def counted_words() -> frozenset[str]:
    """The nouns of what is counted beside splices."""
    phrases = word_lists("facts")["counts_else"]
    return frozenset(w for p in phrases for w in re.findall(r"(?<![a-z*])[a-z]{2,}(?![a-z*])", plain(p)))


def _listed(key: str) -> tuple[str, ...]:
    """The phrases of a meaning; a key with a dot names its file first ("samples.pass")."""
    file, _, name = key.rpartition(".")
    return word_lists(file or "facts")[name]


@cache
def any_of(*keys: str) -> str:
    """An expression for any phrase of some meanings."""
    phrases = (lexicon.with_forms(p) for key in keys for p in _listed(key))
    parts = sorted((lexicon.expression(p) for p in phrases), key=len, reverse=True)
    return "(?:" + "|".join(parts) + ")"


@cache
def pattern(*keys: str) -> re.Pattern[str]:
    """Finds the phrases in text padded with single spaces."""
    return re.compile(rf"(?<= ){any_of(*keys)}(?= )")


@cache
def _whole(key: str) -> re.Pattern[str]:
    return re.compile(rf" (?:{any_of(key)} )+")


def says(key: str, words: str) -> bool:
    """One of the phrases stands in the padded words."""
    return pattern(key).search(words) is not None


def is_only(key: str, words: str) -> bool:
    """The padded words are nothing but phrases of a meaning."""
    return _whole(key).fullmatch(words) is not None


@cache
def _end(key: str) -> re.Pattern[str]:
    return re.compile(rf"(?:^|(?<= )){any_of(key)}$")


def ends(key: str, words: str) -> bool:
    """The words, not padded, end with one of the phrases."""
    return _end(key).search(words) is not None


def cut(key: str, words: str) -> str | None:
    """The words, not padded, without the phrase they end with; nothing where they end with none."""
    found = _end(key).search(words)
    return words[: found.start()].rstrip() if found else None


@cache
def _start(key: str) -> re.Pattern[str]:
    return re.compile(rf"{any_of(key)}(?= |$)")


def begins(key: str, words: str) -> bool:
    """The words, not padded, begin with one of the phrases."""
    return _start(key).match(words) is not None
