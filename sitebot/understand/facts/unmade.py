"""Which clauses of a text tell of splices that are not made: skipped, left to others, still to come.

A clause without a word of its own for it goes with the one before; what is left out here is no part of a report.
"""

from __future__ import annotations

from sitebot.understand.clauses import clauses, part, without
from sitebot.understand.facts import words
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.marks import Mark, Text
from sitebot.understand.spelling import fold

#: Days that are over.
PAST = ("ayer", "yesterday", "last", "anoche", "this morning", "hoy", "today")


def made_only(text: Text) -> Text:
    """The text without the clauses that tell of splices not made, where something is left to report."""
    left = [s for s, unmade in _moods(text) if unmade and (_has_splices(part(text, *s)) or _told(part(text, *s)))]
    if not left:
        return text
    rest = without(text, left)
    if not _has_splices(rest):
        return text
    gone = {n for s, e in left for m in part(text, s, e).of("n", "range") for n in _numbers(m)}
    for mark in rest.of("range"):
        if gone & set(mark.value):
            rest.drop(mark)
            rest.add("range", mark.start, mark.end, [n for n in mark.value if n not in gone])
    return rest


def _numbers(mark: Mark) -> list[int]:
    return list(mark.value) if isinstance(mark.value, list) else [mark.value]


def is_to_come(text: Text) -> bool:
    """Everything the text says of splices is still to be made."""
    moods = [unmade for (s, e), unmade in _moods(text) if _has_splices(part(text, s, e))]
    return bool(moods) and all(moods)


def _moods(text: Text) -> list[tuple[tuple[int, int], bool]]:
    """Each clause and whether it is unmade; one that does not say goes with its neighbour."""
    spans = clauses(text)
    said = [_told(part(text, *span)) for span in spans]
    # "la 92 se me enfrió y no la alcancé a pegar": a clause without a splice says it of the one before.
    for i in range(len(said) - 1):
        if said[i] is None and said[i + 1] and _goes_on(text, *spans[i + 1]):
            said[i] = True
    for i in range(1, len(said)):
        if said[i] is None:
            said[i] = said[i - 1]
    return [(span, bool(mood)) for span, mood in zip(spans, said, strict=True)]


def _goes_on(text: Text, start: int, end: int) -> bool:
    """A clause without a splice of its own, joined to the one before."""
    return text.word(start - 1) in {"y", "and", ","} and not _has_splices(part(text, start, end))


def _told(piece: Text) -> bool | None:
    """True where a clause tells of what is not made, False where of what is, None where it does not say."""
    row = piece.row()[0]
    if words.says("not_mine", row) or words.says("except_words", row):
        return None
    if words.says("unmade", row) and not words.says("none_left", row):
        return True
    hits = [piece.raw(s, e).lower() for key in ("made", "verb.made") for s, e in piece.find(key)]
    surely = any(not words.is_only("made_or_to_make", f" {fold(hit)} ") for hit in hits)
    if _is_later(piece, row) and not surely:
        return True
    return False if hits or any(piece.has(k) for k in ("log_it", "verb.log_it")) else None


def _is_later(piece: Text, row: str) -> bool:
    dates = [fold(m.raw) for m in piece.of("date")]
    return words.says("to_come", row) or any(not d.startswith(PAST) for d in dates)


def _has_splices(piece: Text) -> bool:
    return bool(piece.of("n", "range") or named_kinds(piece))
