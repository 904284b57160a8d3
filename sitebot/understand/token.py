"""One word, number or mark of a text. Nothing is read here."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Token:
    """One word, number or mark."""

    raw: str
    #: Folded, shorthand written out, spelling repaired.
    word: str
    #: word, int, decimal, fraction, clock, code, ordinal, station, mark
    form: str
    value: float | None = None
    #: Written in letters.
    spelled: bool = False
    #: No space before it.
    glued: bool = False
