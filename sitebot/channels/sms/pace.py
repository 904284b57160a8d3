"""How fast a line may send: parts by the second with a small reserve for who waits for an answer.

Pure arithmetic on times passed in. Networks count parts, not messages.
"""

from __future__ import annotations

from datetime import datetime
from enum import IntEnum


class Urgency(IntEnum):
    """What goes first. The confirmation of a STOP goes before everything."""

    NOTICE = 0
    REMINDER = 1
    REPLY = 2
    CONFIRMATION = 3


#: The share of the room that each must leave to the more urgent.
_LEAVES = {Urgency.NOTICE: 0.5, Urgency.REMINDER: 0.25, Urgency.REPLY: 0.0, Urgency.CONFIRMATION: 0.0}


class Pace:
    """A bucket of parts that fills at the line's rate."""

    def __init__(self, parts_per_second: float, burst: int) -> None:
        self.rate, self.burst = parts_per_second, float(max(burst, 3))
        self._room = self.burst
        self._at: datetime | None = None

    def wait(self, parts: int, urgency: Urgency, now: datetime) -> float:
        """Take room for so many parts; 0.0 when taken, else the seconds until there will be room (nothing is taken)."""
        if self._at is not None:
            self._room = min(self.burst, self._room + max(0.0, (now - self._at).total_seconds()) * self.rate)
        self._at = now
        left = self._room - parts
        # What is larger than its share may go once the bucket is full.
        floor = min(self.burst * _LEAVES[urgency], self.burst - parts)
        if left >= floor - 1e-9 or urgency is Urgency.CONFIRMATION:
            self._room = left
            return 0.0
        return (floor - left) / self.rate
