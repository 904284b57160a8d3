"""Plain numbers of a text in rows: what stands together, behind which sign, and what is taken out of a row again."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from sitebot.understand.facts import words
from sitebot.understand.marks import Mark, Text

_SIGNS = {
    "#",
    "no",
    "nos",
    "number",
    "numbers",
    "splice",
    "splices",
    "weld",
    "welds",
    "empalme",
    "empalmes",
    "numero",
    "numeros",
    "joint",
    "joints",
    "el",
    "la",
    "los",
    "las",
    "al",
    "del",
    "num",
    ".",
    "s",
    "union",
    "junta",
    "juntas",
    "lo",
    "soldadura",
    "soldaduras",
}
#: What may stand between "except" and the number.
SMALL = {
    "for",
    "the",
    "el",
    "la",
    "los",
    "las",
    "number",
    "numbers",
    "#",
    "splice",
    "nos",
    "no",
    "s",
    "-",
    ".",
    "sp",
    "num",
    "de",
    "del",
    "al",
}
#: Numbers that come in rows with one of these between them belong together.
LINKS = {",", "and", "y", "e", "&", "+", "/", "plus", "or"}


@dataclass(frozen=True, slots=True)
class Row:
    """Numbers that stand together, and whether a sign (#, splice, el ...) says that they name splices."""

    start: int
    end: int
    numbers: tuple[int, ...]
    signed: bool
    ranged: bool
    #: The first number itself, behind its signs.
    first: int = -1


def _sign_before(text: Text, at: int) -> tuple[int, bool]:
    """Where the signs before a number begin, and whether they make it a splice number."""
    start = at
    while text.word(start - 1) in _SIGNS and text.free(start - 1) and start - 1 >= 0:
        if text.word(start - 1) == "no" and text.spanish and text.word(start) != ".":
            break
        if (text.word(start - 1) == "." and text.word(start - 2) not in {"no", "nos", "num"}) or (
            text.word(start - 1) == "s" and text.word(start - 2) != "#"
        ):
            break
        start -= 1
    words = [text.word(i) for i in range(start, at)]
    return start, bool(words) and words != ["."]


def rows(text: Text) -> list[Row]:
    """The plain numbers of a text in rows."""
    marks = text.of("n", "range")
    found: list[Row] = []
    at = 0
    while at < len(marks):
        row, at = _row(text, marks, at)
        found.append(row)
    return found


def _row(text: Text, marks: list[Mark], at: int) -> tuple[Row, int]:
    first = marks[at]
    start, signed = _sign_before(text, first.start)
    numbers = _numbers(first)
    ranged = first.kind == "range"
    end, nxt = first.end, at + 1
    while nxt < len(marks) and _linked(text, end, marks[nxt].start) and not set(numbers) & set(_numbers(marks[nxt])):
        numbers += _numbers(marks[nxt])
        ranged = ranged or marks[nxt].kind == "range"
        signed = signed or _sign_before(text, marks[nxt].start)[1]
        end, nxt = marks[nxt].end, nxt + 1
    return Row(start, end, tuple(numbers), signed, ranged, first.start), nxt


def _numbers(mark: Mark) -> list[int]:
    return list(mark.value) if mark.kind == "range" else [mark.value]


def _linked(text: Text, end: int, start: int) -> bool:
    """Nothing but links and signs between two numbers."""
    between = [text.word(i) for i in range(end, start)]
    if ("no" in between and text.spanish) or ("." in between and "no" not in between and "nos" not in between):
        return False
    if between[:1] == [","] and between[1:2] == ["del"]:
        return False
    if text.tokens[end - 1].spelled != text.tokens[start].spelled:
        return False
    return all(w in LINKS | _SIGNS | {"also", "tambien", "n"} for w in between) and len(between) <= 4


def excepted(text: Text) -> tuple[list[int], int]:
    """Numbers taken out of a row ("except 33", "menos el 104") and the token where the exception starts."""
    row, places = text.row()
    for match in [*words.pattern("except_words").finditer(row), *_but(row)]:
        start, end = places[match.start()], places[match.end()] + 1
        for found in rows(text):
            between = [text.word(i) for i in range(end, found.first) if text.word(i) not in SMALL]
            if found.first >= end and not between:
                return list(found.numbers), start
    return [], -1


def _but(row: str) -> Iterable[re.Match[str]]:
    """ "all good but 5": no more is said of it in the clause."""
    alone = r"(?<= )(?:but|pero no|excluding)(?= (?:the |la |el |# |number |no )*<(?:n|range)> (?:[,.;:(]|$))"
    return (
        re.finditer(alone, row) if re.search(r" (all|rest|everything|others|every one|todo|todos|todas) ", row) else ()
    )
