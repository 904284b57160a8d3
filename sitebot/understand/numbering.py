"""Marks over plain whole numbers and their ranges, the last station of the marks.

Whether a number names a splice, counts or is a heat is told by the act's facts.
"""

from __future__ import annotations

from sitebot.understand.marks import Text

_TO = {"-", "to", "thru", "through", "al", "a", "hasta", "until", "till", "thr", "throu"}


def mark_numbers(text: Text) -> None:
    """Lay "range" marks over ranges and "n" marks over what is left of whole numbers."""
    for at in range(len(text.tokens)):
        _range(text, at)
    for at, token in enumerate(text.tokens):
        if token.value is not None and text.free(at) and token.form in {"int", "fraction", "decimal"}:
            text.add("n", at, at + 1, int(token.value) if float(token.value).is_integer() else token.value)


def _int(text: Text, at: int) -> int | None:
    if 0 <= at < len(text.tokens) and text.free(at) and text.tokens[at].form == "int":
        return int(text.tokens[at].value or 0)
    return None


def _range(text: Text, at: int) -> None:
    first = _int(text, at)
    if first is None:
        return
    to = at + 1
    while text.word(to) in {"#", "el", "la"} and to - at < 2:
        to += 1
    if text.word(to) not in _TO:
        return
    last_at = to + 1
    while text.word(last_at) in {"#", "el", "la", "no"} and last_at - to < 3:
        last_at += 1
    last = _int(text, last_at)
    if last is None or not first < last <= first + 150:
        return
    step = 2 if text.word(at - 1) in {"from"} and any(text.word(at - k) in {"odd", "even"} for k in (2, 3, 4)) else 1
    text.add("range", at, last_at + 1, list(range(first, last + 1, step)))
