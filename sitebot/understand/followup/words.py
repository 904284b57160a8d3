"""The words of follow-ups, from rules/words/<language>/followups.yaml, both languages together: crews mix them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from sitebot.rulebook.word_lists import word_lists


@cache
def either(key: str) -> str:
    """An expression for any phrase of a meaning; ``word*`` is any ending, ``did ... over`` has a few words between."""
    phrases = sorted(word_lists("followups")[key], key=len, reverse=True)
    return "(?:" + "|".join(_expression(p) for p in phrases) + ")"


def _expression(phrase: str) -> str:
    plain = re.escape(phrase).replace(r"\*", r"\w*").replace(r"\ ", " ")
    return plain.replace(r" \.\.\. ", r"(?: [^\s.]+){1,4}? ")


@cache
def _anywhere(key: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w){either(key)}(?!\w)")


def says(key: str, row: str) -> bool:
    """One of the phrases stands in the text."""
    return _anywhere(key).search(row) is not None


def begins(key: str, row: str) -> bool:
    """The text begins with one of the phrases."""
    return re.match(rf"\W*{either(key)}(?!\w)", row) is not None


def is_just(key: str, row: str) -> bool:
    """The text is one of the phrases and nothing else."""
    return re.fullmatch(rf"\W*{either(key)}\W*", row) is not None


def first(prefix: str, row: str) -> str | None:
    """The first meaning of a family (``kind.``) that stands in the text, in the order of the file."""
    return next((key.removeprefix(prefix) for key in _keys(prefix) if says(key, row)), None)


@cache
def _keys(prefix: str) -> tuple[str, ...]:
    return tuple(k for k in word_lists("followups") if k.startswith(prefix))


def any_of(keys: Iterable[str]) -> str:
    """An expression for any phrase of several meanings."""
    return "(?:" + "|".join(either(k) for k in keys) + ")"


def besides(row: str, *keys: str, kept: str = "a-z") -> list[str]:
    """What a text says besides the phrases of these meanings; ``kept``: the characters that say something."""
    return re.sub(rf"(?<!\w){any_of(keys)}(?!\w)|[^{kept}]", " ", row).split()
