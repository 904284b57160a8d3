"""The plain numbers of a correction: which name a splice, which count, and how each is told (old, right).

Values with a unit or a name of their own (heats, irons, places) are not looked at here.
"""

from __future__ import annotations

from dataclasses import dataclass

from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.facts.corrected import PLAIN, Value, ends_said, is_tagging, number_told, of_splice
from sitebot.understand.facts.elsewise import counts_else
from sitebot.understand.marks import Mark, Text

_TAGS = {
    "#",
    "number",
    "numbers",
    "splice",
    "splices",
    "sp",
    "s",
    "empalme",
    "empalmes",
    "numero",
    "num",
    "nos",
    "weld",
    "joint",
    "soldadura",
}
#: No larger number counts kinds in the singular.
MOST_COUNTED = 12
_LINKS = {",", "and", "y", "e", "&", "n", "+", "/", "the", *_TAGS, "el", "la"}
_ARTICLES = {"el", "la", "al", "del", "lo", "los", "las"}


@dataclass(frozen=True, slots=True)
class Number:
    """One number: where, in which row, and what tells it."""

    value: int
    start: int
    row: int
    #: A tag, an article or its place in the sentence says that it names a splice.
    is_splice: bool
    #: It stands alone where a splice may stand, without a tag.
    is_bare: bool
    #: It stands with a noun of splices, or after "make it", and counts them.
    is_count: bool
    told: int


def numbers_named(text: Text, found: list[Value]) -> list[Number]:
    """The numbers that no other value took."""
    taken = {i for v in found for i in range(v.start, v.end) if v.field not in {"joint", "verdict"}}
    out: list[Number] = []
    row, end = 0, -1
    for mark in text.of("n", "range"):
        if mark.start in taken or (text.tokens[mark.start].spelled and mark.value == 1):
            continue
        linked = end >= 0 and all(text.word(i) in _LINKS for i in range(end, mark.start)) and bool(out)
        row, end = (row if linked else row + 1), mark.end
        out += _of_mark(text, mark, row, out[-1] if linked else None)
    return out


def _of_mark(text: Text, mark: Mark, row: int, left: Number | None) -> list[Number]:
    start = mark.start
    while start and text.free(start - 1) and text.word(start - 1) in _TAGS | _ARTICLES | {"."}:
        start -= 1
    tail = after(text, mark.end)
    signs = {text.word(i) for i in range(start, mark.start)}
    signs |= {"number"} if _is_no(text, start) else set()
    tagged = bool(signs & _TAGS) or bool(signs & _ARTICLES - {"los", "las"}) or mark.kind == "range"
    said = ends_said(text, mark.start)
    named = (
        tagged
        or (of_splice(text, mark) and not said and not words.ends("old_value", before(text, mark.start)))
        or _leads(text, mark, tail)
    )
    if not tagged and counts_else(text, mark) and not of_splice(text, mark):
        return []
    counts = (
        bool(signs & {"los", "las"})
        or text.word(mark.start - 1) in {"those", "these", "them"}
        or (words.ends("count_copula", before(text, start)) and mark.kind == "n" and mark.value <= 60 and not tagged)
        or (words.begins("counted_noun", tail) and not signs & _TAGS and not _is_one(mark, tail))
    )
    told = number_told(text, mark.start, mark.end)
    if left is not None:
        named, told = named or left.is_splice, told if told != PLAIN else left.told
    values = mark.value if isinstance(mark.value, list) else [mark.value]
    return [
        Number(n, mark.start, row, named and not counts, not counts, counts, told) for n in values if isinstance(n, int)
    ]


def _is_one(mark: Mark, tail: str) -> bool:
    """ "33 edge corner": a large number before a kind in the singular is its own."""
    return mark.kind == "n" and mark.value > MOST_COUNTED and words.begins("one_of_kind", tail)


def _is_no(text: Text, start: int) -> bool:
    """ "Fix no 33": in English the short word for number, where no value stands before it."""
    return text.word(start - 1) == "no" and not text.spanish and is_tagging(before(text, start - 1))


def _leads(text: Text, mark: Mark, tail: str) -> bool:
    """ "12 was iron 1": a number at the head of a clause with something said of it."""
    heads = mark.start == 0 or text.word(mark.start - 1) in {".", ",", ";", ":", "\n", "and", "y", "-"}
    early = heads or mark.start <= 3
    return early and (words.begins("of_it", tail) or (heads and tail[:1] in {",", ":", "="}))
