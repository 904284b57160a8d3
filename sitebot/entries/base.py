"""What every entry is made of. No entry stands here."""

from __future__ import annotations

from dataclasses import dataclass

APART = {"apart": True}
#: Free text, in which names are kept as ids ("{p3}"), so that they can be erased.
FREE = {"free": True}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One fact. Times are ISO texts in UTC, days ISO dates of the shift, people ids of the roster."""
