"""Slips of the thumb, seeded: one swap, drop, double or neighbour key in every third word."""

from __future__ import annotations

import random
import re

from sitebot.understand.number_words import NUMBER_WORDS
from sitebot.understand.spelling import fold

_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_NEXT = {key: row[max(0, i - 1) : i] + row[i + 1 : i + 2] for row in _ROWS for i, key in enumerate(row)}


def slipped(text: str, seed: int) -> str:
    """The text with one slip in every third word that holds no digit and is no number word."""
    dice = random.Random(seed)
    count = 0

    def mend(match: re.Match[str]) -> str:
        nonlocal count
        word = match.group()
        if re.search(r"\d", word) or fold(word) in NUMBER_WORDS or len(word) < 3:
            return word
        count += 1
        return _slip(word, dice) if count % 3 == 0 else word

    return re.sub(r"[^\W_]+", mend, text)


def _slip(word: str, dice: random.Random) -> str:
    at = dice.randrange(1, len(word))
    kind = dice.choice(("swap", "drop", "double", "neighbour"))
    if kind == "swap":
        return word[: at - 1] + word[at] + word[at - 1] + word[at + 1 :]
    if kind == "drop":
        return word[:at] + word[at + 1 :]
    if kind == "double":
        return word[:at] + word[at] + word[at:]
    return word[:at] + dice.choice(_NEXT.get(word[at].lower()) or word[at]) + word[at + 1 :]
