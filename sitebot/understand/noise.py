"""Texts that nobody wrote: random bytes, lone surrogates, a handful of marks. Judged by the kinds of letters alone."""

from __future__ import annotations

import unicodedata
from functools import cache

from sitebot.understand import lexicon
from sitebot.understand.marks import Text
from sitebot.understand.people import given_names, small_words
from sitebot.understand.spelling import fold

#: So much of a text may be letters no keyboard of the crew has.
MOST_ODD = 0.1
#: Longer than any message a phone sends: not read at all.
LONGEST = 4000
_KEPT = frozenset("\n\r\t")
_SIGNS = frozenset("\U0001f44d\U0001f44c\u2705\U0001f197?\u00bf")
#: One letter or sign that is an answer by itself.
_ALONE = frozenset("0123456789ynsk\U0001f44d\U0001f44c\u2705\U0001f197")
_ODD = frozenset({"Cc", "Cs", "Co", "Cn"})
_LATIN_ODD = frozenset("¤¦§©ª«¬®¯±²³µ¶·¸¹»×÷ðþÐÞßæÆøØåÅ¢¥£")


def is_noise(text: str) -> bool:
    """Random bytes rather than a message; an empty text too."""
    if not text.strip() or len(text) > LONGEST:
        return True
    odd = sum(c not in _KEPT and (unicodedata.category(c) in _ODD or c in _LATIN_ODD) for c in text)
    said = [c for c in text if _says_something(c)]
    return odd > MOST_ODD * len(text) or not said or (len(said) == 1 and said[0].lower() not in _ALONE)


def _says_something(c: str) -> bool:
    """A Latin letter, a digit, or a sign that stands for a word (a thumb, a question mark)."""
    return c.isdigit() or (c.isalpha() and "LATIN" in unicodedata.name(c, "")) or c in _SIGNS


def is_wordless(text: Text) -> bool:
    """No word of two letters or more that anybody knows: too little to keep anything by."""
    return not any(t.form == "word" and len(t.raw) >= 2 and t.word in _known() for t in text.tokens)


def is_one_slip(text: Text) -> bool:
    """One word, and that one not as anybody writes it: "cicc" for "sick" may be anything."""
    words = [t for t in text.tokens if t.form == "word"]
    return len(words) == 1 and fold(words[0].raw) != words[0].word


@cache
def _known() -> frozenset[str]:
    return lexicon.known_words() | small_words() | given_names()


def is_gibberish(text: Text) -> bool:
    """More marks and words nobody knows than anything else, and no known word of three letters or more."""
    known = _known()
    if any(t.form == "word" and len(t.word) >= 3 and t.word in known for t in text.tokens):
        return False
    odd = [t for t in text.tokens if t.form == "mark" or (t.form == "word" and t.word not in known)]
    signs = [t for t in odd if t.raw in _SIGNS]
    return not signs and len(text.tokens) > 1 and len(odd) * 2 > len(text.tokens)
