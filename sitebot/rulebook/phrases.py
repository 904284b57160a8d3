"""Phrases of a rule as patterns: plain words, ``(a|b)`` a choice, ``word*`` any ending, a lone ``*`` up to three words.

Texts and phrases are folded the same way first. What a phrase means is for the rule to say.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import cache

_GAP = r"(?:[^ ]+ ){0,3}"


def fold(text: str) -> str:
    """Lower case, no accents, no apostrophes, words and numbers with single spaces between and around."""
    text = unicodedata.normalize("NFKD", text.lower()).encode("ascii", "ignore").decode()
    text = text.replace("'", "")
    text = re.sub(r"[^a-z0-9/.,%*()|]+|[.,](?!\d)|[*()|]", " ", text)
    return f" {' '.join(text.split())} "


def words_of(text: str) -> list[str]:
    """The words of a text, folded, numbers left out."""
    return [w for w in re.split(r"[^a-z0-9]+", fold(text)) if w and not w[0].isdigit()]


def pattern_of(phrase: str) -> str:
    """The expression of one phrase, to be found between spaces."""
    pieces = re.split(r"([()|]|(?<=\w)\*| \* )", phrase)
    signs = {"(": "(?:", ")": ")", "|": "|", "*": r"[^ ]*", " * ": f" {_GAP}"}
    return "".join(signs.get(p, "") or _folded(p) for p in pieces if p)


def _folded(piece: str) -> str:
    lead = " " if piece[0] == " " else ""
    tail = " " if piece[-1] == " " and piece.strip() else ""
    return lead + re.escape(fold(piece).strip()) + tail


@cache
def _any(phrases: tuple[str, ...]) -> re.Pattern[str]:
    parts = sorted((pattern_of(p) for p in phrases), key=len, reverse=True)
    return re.compile(r"(?<= )(?:" + "|".join(parts or ["(?!)"]) + r")(?= )")


def said(text: str, phrases: Iterable[str]) -> str:
    """What of ``phrases`` stands in a folded text: the words found, or nothing."""
    match = _any(tuple(phrases)).search(text)
    return match[0] if match else ""


def plain_words(phrases: Sequence[str]) -> list[str]:
    """The words of phrases without their signs, for an index."""
    return [w for p in phrases for w in words_of(re.sub(r"[()|*]", " ", p))]
