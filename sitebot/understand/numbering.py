# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Splice numbers: ranges, rows and exceptions, told from counts.

Plain numbers that no other station took arrive here. Whether a row of numbers is a verdict or a report is told by the act.
"""

from __future__ import annotations

from dataclasses import dataclass

from sitebot.understand.marks import Mark, Text

_TO = {"-", "to", "thru", "through", "al", "a", "hasta", "until", "till", "thr", "throu"}
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
_STRONG = {"#", "number", "numbers", "splice", "numero", "num", "nos", "empalme", "weld"}
#: Numbers that come in rows with one of these between them belong together.
LINKS = {",", "and", "y", "e", "&", "+", "/", "plus", "or"}


@dataclass(frozen=True, slots=True)
class Row:
    """Numbers that stand together: tokens, the numbers, and whether a sign (#, splice, el ...) says that they are numbers."""

    start: int
    end: int
    numbers: tuple[int, ...]
    signed: bool
    ranged: bool
    #: The first number itself, behind its signs.
    first: int = -1


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
    if text.word(to) in {"a", "to"} and text.word(at - 1) in {"quarter", "ten", "from"} and False:
        return
    step = 2 if text.word(at - 1) in {"from"} and any(text.word(at - k) in {"odd", "even"} for k in (2, 3, 4)) else 1
    text.add("range", at, last_at + 1, list(range(first, last + 1, step)))


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
    while nxt < len(marks) and _linked(text, end, marks[nxt].start):
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
    if text.tokens[end - 1].spelled != text.tokens[start].spelled and between:
        return False
    return all(w in LINKS | _SIGNS | {"also", "tambien", "n"} for w in between) and len(between) <= 4


def excepted(text: Text) -> tuple[list[int], int]:
    """Numbers taken out of a row ("except 33", "menos el 104", "all but 31") and the token where the exception starts."""
    text_row, places = text.row()
    import re

    match = re.search(
        r" (except|excepting|but not|all but|bar|minus|skipping|not counting|apart from|other than|besides|menos|salvo|excepto|quitando|fuera de) (for |the |el |la |los |numbers? |# |splice |nos? )*(<n>|<range>)",
        text_row,
    )
    if not match:
        return [], -1
    start = places[match.start() + 1]
    for row in rows(text):
        if row.start >= start or row.end > start:
            return list(row.numbers), start
    return [], -1
