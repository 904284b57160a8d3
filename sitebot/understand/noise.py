"""Texts that nobody wrote: random bytes, lone surrogates, a handful of marks. Judged by the kinds of letters alone."""

from __future__ import annotations

import unicodedata

#: So much of a text may be letters no keyboard of the crew has.
MOST_ODD = 0.1
#: Longer than any message a phone sends: not read at all.
LONGEST = 4000
_KEPT = frozenset("\n\r\t")
_ODD = frozenset({"Cc", "Cs", "Co", "Cn"})
_LATIN_ODD = frozenset("¤¦§©ª«¬®¯±²³µ¶·¸¹»×÷ðþÐÞßæÆøØåÅ¢¥£")


def is_noise(text: str) -> bool:
    """Random bytes rather than a message; an empty text too."""
    if not text.strip() or len(text) > LONGEST:
        return True
    odd = sum(c not in _KEPT and (unicodedata.category(c) in _ODD or c in _LATIN_ODD) for c in text)
    return odd > MOST_ODD * len(text) or not any(_says_something(c) for c in text)


def _says_something(c: str) -> bool:
    """A Latin letter, a digit, or a sign that stands for a word (a thumb, a question mark)."""
    return (
        c.isdigit()
        or (c.isalpha() and "LATIN" in unicodedata.name(c, ""))
        or unicodedata.category(c) == "So"
        or c == "?"
    )
