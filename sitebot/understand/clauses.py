"""A text cut into clauses: each a text of its own with the marks that fall into it.

Where one message holds two matters ("3 butts on wall 7 and iron 1 is unplugged") each is read in its own clause.
"""

from __future__ import annotations

from dataclasses import replace

from sitebot.understand.marks import Text

_STOPS = {".", ";", "!", "?", "\n"}
_JOINTS = {
    "and",
    "y",
    "but",
    "pero",
    "then",
    "luego",
    "so",
    "also",
    "oh",
    "while",
    "since",
    "after",
    "before",
    "antes",
    "despues",
}


_ARTICLES = {"el", "la", "los", "las", "the"}


def part(text: Text, start: int, end: int) -> Text:
    """The stretch of a text as a text."""
    cut = Text(text.tokens[start:end], spanish=text.spanish)
    for mark in text.marks:
        if start <= mark.start and mark.end <= end:
            cut.marks.append(replace(mark, start=mark.start - start, end=mark.end - start))
            cut._taken.update(range(mark.start - start, mark.end - start))
    return cut


def without(text: Text, spans: list[tuple[int, int]]) -> Text:
    """The text without some stretches; a stop stands where one was cut out."""
    kept = [i for i in range(len(text.tokens)) if not any(s <= i < e for s, e in spans)]
    where = {old: new for new, old in enumerate(kept)}
    cut = Text([text.tokens[i] for i in kept], spanish=text.spanish)
    for mark in text.marks:
        places = [where[i] for i in range(mark.start, mark.end) if i in where]
        if len(places) == mark.end - mark.start:
            cut.marks.append(replace(mark, start=places[0], end=places[-1] + 1))
            cut._taken.update(places)
    return cut


def sentences(text: Text) -> list[tuple[int, int]]:
    """Stretches between stops."""
    return _cut(text, lambda at: text.word(at) in _STOPS and text.mark_at(at) is None and not _inside_number(text, at))


def clauses(text: Text) -> list[tuple[int, int]]:
    """Stretches between stops, commas and joining words."""
    return _cut(
        text,
        lambda at: (
            text.mark_at(at) is None
            and (
                (
                    text.word(at) in _STOPS | {",", ":", "(", ")"}
                    and not _inside_number(text, at)
                    and not _lists(text, at)
                )
                or (text.word(at) in _JOINTS and not _joins_words(text, at))
            )
        ),
    )


def is_joint(text: Text, at: int) -> bool:
    """A comma or joining word between two clauses."""
    return text.word(at) in _JOINTS | {","} and text.mark_at(at) is None


#: Shortened words whose stop ends no sentence.
_SHORT = {
    "no", "nos", "sp", "num", "ing", "el", "sta", "mr", "exc", "excl", "incl", "approx", "temp",
    "thk", "surf", "max", "avg", "req", "vs",
}  # fmt: skip


def _inside_number(text: Text, at: int) -> bool:
    return text.word(at) == "." and text.word(at - 1) in _SHORT


def _lists(text: Text, at: int) -> bool:
    """The comma of "40, 41 and 43"."""
    left, right = text.mark_at(at - 1), text.mark_at(at + 1)
    return text.word(at) == "," and left is not None and right is not None and {left.kind, right.kind} <= {"n", "range"}


def _joins_words(text: Text, at: int) -> bool:
    """ "and" between two names, numbers or kinds joins no clauses; "but" always parts them."""
    if text.word(at) in {"but", "pero"}:
        return False
    behind = at + 2 if text.word(at + 1) in _ARTICLES else at + 1
    left, right = text.mark_at(at - 1), text.mark_at(behind)
    if left and right and left.kind == right.kind:
        return True
    return text.word(at - 1) in {"me", "yo", "i"} or (
        text.word(at + 1) in {"me", "yo", "i"} and text.word(at + 2) in {"", ".", ",", "did", "on", "at"}
    )


def _cut(text: Text, is_stop) -> list[tuple[int, int]]:  # type: ignore[no-untyped-def]
    found, start = [], 0
    for at in range(len(text.tokens)):
        if is_stop(at):
            if at > start:
                found.append((start, at))
            start = at + 1
    if start < len(text.tokens):
        found.append((start, len(text.tokens)))
    return found
