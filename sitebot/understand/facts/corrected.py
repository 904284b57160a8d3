"""Values of a correction: each with what it would change and whether it is told as the old one or the right one.

The grammar is that of "X is not A but B", "should be B", "I put A", "change A to B"; its words are data.
Which splice is meant is told in amends.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.facts.kinds import named_kinds, refine
from sitebot.understand.facts.verdicts import told
from sitebot.understand.marks import Mark, Text

#: How a value is told: the old one, the right one, or neither; "was" alone is weak.
OLD, PLAIN, WEAK, NEW = -1, 0, 1, 2
_FIELDS = {"temp": "temp_f", "time": "at", "iron": "iron", "place": "place"}


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a correction."""

    field: str
    value: Any
    start: int
    end: int
    told: int


def polarity(text: Text, start: int, end: int, counted: bool = False) -> int:
    """How the words before and behind a value tell it; a kind may have its count before it."""
    if words.begins("wrong_after", after(text, end)):
        return OLD
    head = before(text, start)
    if head.endswith(" de") and text.word(end) in {"a", "por", "to"}:
        return OLD
    for _ in range(6):
        if _ends_old(text, head):
            return OLD
        for key, told_as in (("new_value", NEW), ("weak_new", WEAK)):
            rest = words.cut(key, head)
            if rest is not None:
                return OLD if _ends_old(text, rest) else told_as
        kept, _, last = head.rpartition(" ")
        if not (words.is_only("value_filler", f" {last} ") or (counted and last == "<n>")):
            return PLAIN
        head = kept
    return PLAIN


def _ends_old(text: Text, head: str) -> bool:
    """ "no" is "number" beside a tag; "de" alone is no old value."""
    if not words.ends("old_value", head):
        return False
    last = head.rsplit(" ", 1)[-1]
    if last == "de":
        return head.endswith(" no de")
    tagged = last == "no" and is_tagging(head.removesuffix("no").strip())
    return not (tagged or head.endswith(("splice no", "# no", "weld no", "joint no")))


def is_tagging(head: str) -> bool:
    """Before "no 33": the head of a sentence or a word that is followed by a splice, so that it is short for number."""
    return not head or head[-1] in ".:;" or words.ends("before_no", head)


def values(text: Text) -> list[Value]:
    """All values of the text but plain numbers, in order; said-wrong ones made old."""
    found = sorted(
        [*_marked(text), *_kinds(text), *_verdicts(text), *_heats(text), *_sizes(text), *_irons(text)],
        key=lambda v: v.start,
    )
    return _repeated(_said_wrong(text, found))


def _marked(text: Text) -> Iterator[Value]:
    for mark in text.of(*_FIELDS):
        yield Value(_FIELDS[mark.kind], mark.value, mark.start, mark.end, polarity(text, mark.start, mark.end))
    for mark in text.of("len"):
        if mark.unit in {"in", "mm", "cm"} and float(mark.value) >= 3:
            size = f"{mark.value:g} {mark.unit}"
            yield Value("profile", size, mark.start, mark.end, polarity(text, mark.start, mark.end))


def _kinds(text: Text) -> Iterator[Value]:
    for kind in named_kinds(text):
        start = kind.count_at if kind.count is not None and kind.count_at >= 0 else kind.start
        yield Value("joint", kind.kind, start, kind.end, polarity(text, kind.start, kind.end, counted=True))


def _verdicts(text: Text) -> Iterator[Value]:
    row, places = text.row()
    for at, key in told(row):
        start = places[at]
        if key in {"accept", "reject", "fine", "poor"}:
            end = start + 1
            yield Value("verdict", key, start, end, polarity(text, start, end))


def _heats(text: Text) -> Iterator[Value]:
    """Bare three-digit numbers beside a heat or a word for it."""
    if not text.of("temp") and not words.says("temp_word", text.row()[0]):
        return
    for mark in text.of("n"):
        if isinstance(mark.value, int) and 250 <= mark.value <= 480 and not _is_tagged(text, mark):
            yield Value("temp_f", mark.value, mark.start, mark.end, polarity(text, mark.start, mark.end))


def _sizes(text: Text) -> Iterator[Value]:
    """ "my tape says 9": a bare number where the text speaks of the profile and names no other size as right."""
    row = text.row()[0]
    if text.of("len") and words.says("profile_word", row):
        for mark in text.of("n"):
            head = before(text, mark.start)
            if (
                isinstance(mark.value, int)
                and 3 <= mark.value <= 15
                and not _is_tagged(text, mark)
                and not of_splice(text, mark)
            ):
                told_as = polarity(text, mark.start, mark.end)
                if told_as == OLD or words.ends("weak_new", head):
                    yield Value("profile", f"{mark.value} {text.of('len')[0].unit}", mark.start, mark.end, told_as)


def _irons(text: Text) -> Iterator[Value]:
    """ "wrong iron, it was number 3", "la plancha del 41 era la 2": a small number told behind the word for an iron."""
    spoken = [m.start() for m in words.pattern("iron_word").finditer(text.row()[0])]
    where = [text.row()[1][at] for at in spoken] + [m.start for m in text.of("iron")]
    for mark in text.of("n"):
        if not any(0 < mark.start - at <= 9 for at in where) or not isinstance(mark.value, int) or mark.value > 9:
            continue
        told_as = number_told(text, mark.start, mark.end)
        if told_as != PLAIN and not of_splice(text, mark) and text.word(mark.start - 1) != "#":
            yield Value("iron", str(mark.value), mark.start, mark.end, told_as)


def of_splice(text: Text, mark: Mark) -> bool:
    """ "on 9", "for 14": the number names a splice."""
    return words.ends("of_splice", before(text, mark.start))


def ends_said(text: Text, start: int) -> bool:
    """ "te puse la 1", "I said 5": told before, and wrong."""
    head = before(text, start)
    for _ in range(3):
        if words.ends("said_wrong", head):
            return True
        kept, _, last = head.rpartition(" ")
        if not words.is_only("value_filler", f" {last} "):
            return False
        head = kept
    return False


def number_told(text: Text, start: int, end: int) -> int:
    """As ``polarity``, for a plain number: what was said before is the old one."""
    return OLD if ends_said(text, start) else polarity(text, start, end)


def _is_tagged(text: Text, mark: Mark) -> bool:
    return text.word(mark.start - 1) in {"#", "splice", "sp", "number", "empalme", "el", "del", "al"}


def _said_wrong(text: Text, found: list[Value]) -> list[Value]:
    """The first value of a field behind "I put", "log says" is the old one where there is another."""
    row, places = text.row()
    out = list(found)
    for hit in words.pattern("said_wrong").finditer(row):
        at = places[hit.end() - 1]
        behind = [v for v in out if at <= v.start <= at + 7]
        for value in behind[:1]:
            rivals = [v for v in out if v.field == value.field and v.value != value.value and v.told != OLD]
            if rivals:
                out[out.index(value)] = Value(value.field, value.value, value.start, value.end, OLD)
    return out


def _repeated(found: list[Value]) -> list[Value]:
    """What is old once is old wherever it stands again, unless it is told as right there."""
    old = {(v.field, str(v.value)) for v in found if v.told == OLD}
    new = {(v.field, str(v.value)) for v in found if v.told == NEW}
    gone = old - new
    return [v if (v.field, str(v.value)) not in gone else Value(v.field, v.value, v.start, v.end, OLD) for v in found]


def right(found: list[Value], field: str) -> Value | None:
    """The right value of a field: the one told best, the first of equals; none where two are told alike."""
    good = [v for v in found if v.field == field and v.told != OLD]
    if not good:
        return None
    best = max(v.told for v in good)
    return next(v for v in good if v.told == best)


def kind_of(value: Value, text: Text) -> str:
    """The kind, with what the text says of flat and edge."""
    return refine("corner", text) if value.value == "corner" else str(value.value)
