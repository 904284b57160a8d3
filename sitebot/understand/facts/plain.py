"""A text put plainly before its facts are taken: lists with tags or slashes made rows of numbers, an inspector's
letters made verdicts, and what the sender took back ("4 butts. no wait. 5 butts") left out.

The choice of the act sees the text as it came; nothing is decided here about what a number means.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

from sitebot.understand.clauses import without
from sitebot.understand.facts import words
from sitebot.understand.marks import Mark, Text

#: Denominators of lengths; 12/13 is no length.
_SIXTEENTHS = {2, 3, 4, 8, 16, 32, 64}
_STOPS = {".", ",", ";", "-", "!", "\n", "(", ")", ":"}
#: After these the second number is another matter, not the first one put right.
_NOT_RIGHT = {"of", "min", "mins", "minutes", "minutos", "hours", "hour", "horas", "hora", "de", "times", "veces"}
_TYPED = ("n", "range", "temp", "time", "place", "iron", "len")


def plain(text: Text) -> Text:
    """The text with its lists and slips of the tongue put straight; its acts are not chosen anew."""
    return taken_back(listed(text))


def listed(text: Text) -> Text:
    """The text with lists as rows and letters as verdicts."""
    copy = without(text, _said_twice(text))
    _split_fractions(copy)
    _tagged_ranges(copy)
    _every_other(copy)
    _letters(copy)
    return copy


def _said_twice(text: Text) -> list[tuple[int, int]]:
    """ "8 (eight)": the number once more in brackets."""
    pairs = [(a, b) for a, b in itertools.pairwise(text.of("n")) if a.value == b.value and b.start == a.end + 1]
    return [(b.start - 1, b.end + 1) for a, b in pairs if (text.word(a.end), text.word(b.end)) == ("(", ")")]


def _tag_start(text: Text, at: int) -> int:
    """Where the tags before a number begin: "S -", "sp #", "no ."."""
    start = at
    while start and text.free(start - 1) and (text.word(start - 1) in {"#", "-", "."} or _is_tag(text.word(start - 1))):
        start -= 1
    while start < at and text.word(start) in {".", "-"}:
        start += 1
    return start


def _is_tag(word: str) -> bool:
    return words.is_only("tag", f" {word} ")


def _split_fractions(text: Text) -> None:
    """ "S-9/10/11", "12/13 good": numbers of a list that look like a fraction."""
    for mark in list(text.of("len", "n", "pct")):
        token = text.tokens[mark.start]
        if token.form != "fraction" or mark.end != mark.start + 1 or " " in token.raw or "-" in token.raw:
            continue
        top, bottom = (int(x) for x in token.raw.split("/"))
        in_list = text.word(mark.start - 1) == "/" and text.mark_at(mark.start - 2) is not None
        signed = _tag_start(text, mark.start) < mark.start
        signed = signed and text.word(_tag_start(text, mark.start) - 1) != "/"
        if in_list or (top < bottom and bottom not in _SIXTEENTHS) or (signed and bottom == top + 1):
            text.drop(mark)
            text.add("range", mark.start, mark.end, [top, bottom])


def _tagged_ranges(text: Text) -> None:
    """ "S-44 thru S-49", "sp 12 to sp 15"."""
    marks = text.of("n")
    for left, right in itertools.pairwise(marks):
        between = [text.word(i) for i in range(left.end, right.start)]
        if not between or len(between) > 4 or not all(text.free(i) for i in range(left.end, right.start)):
            continue
        tail = " ".join(w for w in between if w not in {"#", "-", "."} and not (_is_tag(w) and w not in {"a", "al"}))
        bare = tail == "" and "-" in between and _tag_start(text, left.start) < left.start and len(between) > 1
        both = isinstance(left.value, int) and isinstance(right.value, int)
        if (bare or words.is_only("through", f" {tail} ")) and both and left.value < right.value <= left.value + 150:
            text.drop(left)
            text.drop(right)
            text.add("range", left.start, right.end, list(range(left.value, right.value + 1)))


def _every_other(text: Text) -> None:
    """ "los numeros pares del 20 al 26", "odd ones 3 to 9": every other number of a range."""
    for mark in text.of("range"):
        near = {text.word(i) for i in range(max(0, mark.start - 5), mark.start)}
        parity = 0 if near & _EVEN else 1 if near & _ODD else None
        if parity is not None and not text.raw(mark.start, mark.end).isdigit():
            text.drop(mark)
            text.add("range", mark.start, mark.end, [n for n in mark.value if n % 2 == parity])


_EVEN, _ODD = {"even", "evens", "pares", "par"}, {"odd", "odds", "nones", "impares", "non", "impar"}
_LETTERS = {"A": "accepted", "R": "rejected"}


def _letters(text: Text) -> None:
    """ "72 R sep on bend", "R on the tee": a capital letter right after a number or at the head of a line."""
    for at, token in enumerate(text.tokens):
        if token.raw not in _LETTERS or not text.free(at):
            continue
        behind = text.mark_at(at - 1)
        heads = at == 0 or text.word(at - 1) in {"\n", ";"}
        follows = behind is not None and behind.kind in {"n", "range"}
        if (follows and text.word(at - 1) != "iron") or (heads and token.raw == "R"):
            text.tokens[at] = replace(token, word=_LETTERS[token.raw])
            text._row = None


def taken_back(text: Text) -> Text:
    """The text without the values that were put right in the same breath."""
    for left, right in itertools.pairwise(text.marks):
        if left.kind in _TYPED and _same_kind(left, right) and _is_retraction(text, left, right):
            return taken_back(_put_right(text, left, right))
    return text


def _same_kind(left: Mark, right: Mark) -> bool:
    numbers = {"n", "range"}
    return left.kind == right.kind or (left.kind in numbers and right.kind in numbers)


def _is_retraction(text: Text, left: Mark, right: Mark) -> bool:
    between = [text.word(i) for i in range(left.end, right.start)]
    if not between or len(between) > 9 or between[-2:] == ["no", "."] or text.word(right.end) in _NOT_RIGHT:
        return False
    said = [w for w in between if w not in _STOPS and w != "#"]
    while said and words.is_only("filler", f" {said[-1]} ") and not words.is_only("takes_back", f" {said[-1]} "):
        said.pop()
    stopped = any(w in _STOPS for w in between)
    for cut in range(min(len(said), 5)):
        tail = f" {' '.join(said[cut:])} "
        near, far = words.is_only("takes_back", tail), words.is_only("takes_back_far", tail)
        if far and (stopped or cut <= 1):
            return True
        if near and cut <= 1 and (stopped or not cut) and tail.strip() not in {"no", "nope", "o sea", "rather"}:
            return True
        if near and cut == 0 and tail.strip() in {"no", "nope"} and between[0] in _STOPS and between[-1] in _STOPS:
            return True
    return False


def _put_right(text: Text, left: Mark, right: Mark) -> Text:
    """The old value left out; the noun that stood with it stays where the new one has none."""
    noun = [text.word(i) for i in range(left.end, right.start)][:1]
    if noun and text.word(right.end) == noun[0]:
        return without(text, [(left.start, right.start)])
    cut = without(text, [(right.start, right.end)])
    kept = cut.mark_at(left.start)
    if kept is not None:
        cut.drop(kept)
    token = text.tokens[right.start]
    cut.tokens[left.start] = token
    shorter = without(cut, [(left.start + 1, left.end), *_cue(text, left, right)])
    shorter.add(right.kind, left.start, left.start + 1, right.value, right.unit)
    return shorter


def _cue(text: Text, left: Mark, right: Mark) -> list[tuple[int, int]]:
    """The words from the stop or the noun after the old value to the new one."""
    start = left.end
    while (
        start < right.start
        and text.word(start) not in _STOPS
        and not words.is_only("takes_back", f" {text.word(start)} ")
    ):
        start += 1
    return [(start, right.start)]
