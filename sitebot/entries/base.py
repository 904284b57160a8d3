"""What every entry is made of. No entry stands here."""

from __future__ import annotations

from dataclasses import dataclass

APART = {"apart": True}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One fact. Times are ISO texts in UTC, days ISO dates of the shift, people ids of the roster."""
