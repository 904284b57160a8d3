"""Participles as they are heard without their d: "soldá", "pelao", "corrío" are soldada, pelado, corrido.

"Pegá" alone may also bid; it is a participle only behind a word that takes one ("ya ta pegá", "sin pegá").
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from sitebot.understand import lexicon
from sitebot.understand.facts import words
from sitebot.understand.spelling import fold
from sitebot.understand.token import Token

#: Endings as they are heard and as they are written; the first may stand anywhere.
_ANYWHERE = (("ao", "ado"), ("aos", "ados"), ("ío", "ido"), ("íos", "idos"))
_BEHIND = (("á", "ada"), ("a", "ada"), ("ás", "adas"), ("ía", "ida"), ("í", "ida"))


@cache
def _participles() -> frozenset[str]:
    return frozenset(
        w for w in lexicon.known_words() if w.endswith(("ado", "ada", "ados", "adas", "ido", "ida", "idos"))
    )


def _whole(raw: str, endings: Iterable[tuple[str, str]]) -> str:
    """The participle that a word stands for, or nothing."""
    lower = raw.lower()
    for heard, written in endings:
        if lower.endswith(heard) and len(lower) > len(heard) + 1:
            whole = fold(lower[: -len(heard)]) + written
            if whole in _participles():
                return whole
    return ""


def whole_participles(tokens: list[Token]) -> list[Token]:
    """The tokens with participles written out."""
    out = list(tokens)
    for at, token in enumerate(tokens):
        if token.form != "word" or len(token.raw) < 3:
            continue
        taken = at > 0 and words.is_only("takes_participle", f" {tokens[at - 1].word} ")
        whole = _whole(token.raw, _ANYWHERE) or (_whole(token.raw, _BEHIND) if taken else "")
        if whole and (
            token.word not in lexicon.known_words() or taken or token.raw.lower().endswith(("ao", "aos", "ío"))
        ):
            out[at] = replace(token, word=whole)
    return out
