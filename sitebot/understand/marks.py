"""The text as a row of marks: quantities, times, irons, places and plain numbers cut out, the rest words.

``Text`` is what every station reads and extends; it decides nothing about acts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from sitebot.understand import lexicon
from sitebot.understand.token import Token


@dataclass(frozen=True, slots=True)
class Mark:
    """A stretch of tokens that means one thing: ``kind`` is n, time, date, temp, len, pct, iron, place ..."""

    kind: str
    start: int
    end: int
    value: Any = None
    unit: str = ""
    #: Where the number itself stands, first token after it.
    raw: str = ""


@dataclass(slots=True)
class Text:
    """Tokens and the marks laid over them."""

    tokens: list[Token]
    marks: list[Mark] = field(default_factory=list)
    spanish: bool = False
    _taken: set[int] = field(default_factory=set)
    _row: tuple[str, list[int]] | None = None
    #: Where each meaning stands in the present row; forgotten when the row changes.
    _found: dict[str, tuple[tuple[int, int], ...]] = field(default_factory=dict)

    def free(self, start: int, end: int | None = None) -> bool:
        """No mark covers these tokens."""
        return not any(i in self._taken for i in range(start, end if end is not None else start + 1))

    def add(self, kind: str, start: int, end: int, value: Any = None, unit: str = "") -> Mark:
        """Lay a mark over tokens start to end (end not included)."""
        mark = Mark(kind, start, end, value, unit, self.raw(start, end))
        self.marks.append(mark)
        self.marks.sort(key=lambda m: m.start)
        self._taken.update(range(start, end))
        self._row = None
        return mark

    def drop(self, mark: Mark) -> None:
        """Take a mark away again."""
        self.marks.remove(mark)
        self._taken.difference_update(range(mark.start, mark.end))
        self._row = None

    def raw(self, start: int, end: int) -> str:
        """The tokens as they were written."""
        out = ""
        for token in self.tokens[start:end]:
            out += token.raw if token.glued or not out else f" {token.raw}"
        return out

    def word(self, at: int) -> str:
        """The word at a place, empty beyond the ends."""
        return self.tokens[at].word if 0 <= at < len(self.tokens) else ""

    def of(self, *kinds: str) -> list[Mark]:
        """The marks of some kinds, in order."""
        return [m for m in self.marks if m.kind in kinds]

    def mark_at(self, at: int) -> Mark | None:
        """The mark that covers a token."""
        return next((m for m in self.marks if m.start <= at < m.end), None)

    def row(self) -> tuple[str, list[int]]:
        """The masked text (marks as <kind>), padded with spaces, and the token at each of its characters."""
        if self._row is None:
            words, where = [], []
            at = 0
            while at < len(self.tokens):
                mark = self.mark_at(at)
                words.append(f"<{mark.kind}>" if mark else self.tokens[at].word)
                where.append(at)
                at = mark.end if mark else at + 1
            text, places = " ", [0]
            for word, token in zip(words, where, strict=True):
                text += f"{word} "
                places += [token] * (len(word) + 1)
            self._row = (text, [*places, len(self.tokens)])
            self._found.clear()
        return self._row

    def find(self, key: str) -> Iterator[tuple[int, int]]:
        """Where a meaning of the lexicon stands: token places, start and end."""
        text, places = self.row()
        if key not in self._found:
            self._found[key] = tuple(self._search(key, text, places))
        return iter(self._found[key])

    def _search(self, key: str, text: str, places: list[int]) -> Iterator[tuple[int, int]]:
        for match in lexicon.pattern(key).finditer(text):
            last = places[match.end() - 1]
            covering = self.mark_at(last)
            yield places[match.start()], covering.end if covering else last + 1

    def has(self, key: str) -> bool:
        """Whether a meaning of the lexicon stands in the text."""
        return next(self.find(key), None) is not None

    def matches(self, expression: str) -> bool:
        """Whether the masked text matches an expression."""
        return re.search(expression, self.row()[0]) is not None
