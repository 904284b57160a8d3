"""What the three lines have in common: parts that are heard, letters that are sent, receipts that follow.

Values and protocols only. A line moves bytes; joining, STOP and quiet hours are the channel's.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import IntEnum
from typing import Protocol, runtime_checkable

from sitebot.errors import Refused, Unreachable
from sitebot.message import Media


class Step(IntEnum):
    """How far a part has come. A receipt only moves it up: a late DELIVERED corrects a FAILED, never the reverse."""

    QUEUED = 0
    SENT = 1
    FAILED = 2
    DELIVERED = 3


@dataclass(frozen=True, slots=True)
class Heard:
    """One part as the line brought it; a short text is its only part."""

    #: The line's own id, or one made of all that tells the part from others; the same when the network repeats it.
    id: str
    sender: str
    text: str
    #: The network's time stamp.
    at: datetime | None = None
    #: Reference, size and place of the message it is a part of.
    reference: int = 0
    total: int = 1
    place: int = 1
    media: tuple[Media, ...] = ()
    #: State of the line that is to be committed with it.
    state: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Letter:
    """One message to be sent. A line sends the same ``ref`` once, as far as its other side lets it."""

    ref: str
    to: str
    parts: tuple[str, ...]
    #: Names the message in the header of its parts, 0-255.
    number: int = 0
    #: Higher goes first.
    urgency: int = 0
    #: Ids of parts that were accepted before a crash; they are not sent again.
    accepted: Mapping[int, str] = field(default_factory=dict)
    media: tuple[Media, ...] = ()

    @property
    def text(self) -> str:
        return "".join(self.parts)


@dataclass(frozen=True, slots=True)
class Receipt:
    """News of a part (place from 0; None: the whole message), found by our ``ref`` or by the other side's ``id``."""

    step: Step
    ref: str = ""
    id: str = ""
    place: int | None = None
    detail: str = ""
    #: The line failed and may succeed later; the phone was not asked yet.
    again: bool = False


class OptedOut(Refused):
    """The network or provider holds an opt-out for this number."""


class NotNow(Unreachable):
    """It may go later, at ``until``: quiet hours, or no room in the rate."""

    def __init__(self, reason: str, until: datetime) -> None:
        super().__init__(f"{reason}, until {until.isoformat(timespec='seconds')}")
        self.until = until


#: Told of each part that the other side accepted, with its id there; returns when that is committed.
Accepted = Callable[[int, str, Step], Awaitable[None]]


class Counter(Protocol):
    """Where a line hands in what it hears. Both return when it is committed; only then may the line acknowledge."""

    async def take(self, heard: Sequence[Heard]) -> None: ...

    async def note(self, receipts: Sequence[Receipt]) -> None: ...

    def unsettled(self) -> Sequence[str]:
        """Refs of messages whose last word is still out."""


class Line(Protocol):
    """One way into the telephone network."""

    name: str

    async def hear(self, counter: Counter) -> None:
        """Bring parts and receipts until cancelled; Unreachable when the other side is gone, to be called again."""

    async def send(self, letter: Letter, accepted: Accepted) -> None:
        """Hand over one message; returns when the other side has all its parts, raises ChannelError otherwise."""


@runtime_checkable
class Remembering(Protocol):
    """A line that keeps texts and numbers of its own."""

    async def forget(self, gone: str) -> None:
        """Take the number of a hash out of all of it; Unreachable where that cannot be done now."""
