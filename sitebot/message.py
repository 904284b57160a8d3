"""What goes in and what goes out: messages, people, and what is to be said.

No input or output and no meaning live here: a text is read in understand/, its answer is made in respond/.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

Language = Literal["en", "es"]
Role = Literal["crew", "lead", "inspector", "superintendent"]
#: A text in every language of the assistant, by language code.
Text = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody on the roster. Entries name him by ``id``; name and addresses can be erased on request."""

    id: str
    name: str
    role: Role
    language: Language = "en"
    addresses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Media:
    """A picture or file that came or goes with a message, byte for byte."""

    name: str
    mime: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Attached:
    """A file that came with a kept message, as the inbox names it. Without a hash its bytes were not kept."""

    name: str
    mime: str
    size: int
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class Incoming:
    """One message as the channel brought it; (channel, external_id) is unique."""

    channel: str
    external_id: str
    #: The address it came from; this and nothing in the text says who speaks.
    sender: str
    text: str
    received_at: datetime
    #: When it was written, where the channel tells.
    written_at: datetime | None = None
    #: The conversation the answer goes to; empty: the sender himself.
    room: str = ""
    #: External id of the message this one replies to, edits, or takes back.
    reply_to: str = ""
    edits: str = ""
    retracts: str = ""
    reaction: bool = False
    #: Said to us: in a direct room, by our name, as a reply to us. Anything else was overheard in a crew room.
    addressed: bool = True
    #: Others hear what is said there: a crew room.
    shared: bool = False
    #: External id of the message the thread began with; empty: in none.
    thread: str = ""
    #: Nobody could read it, its key has not come: ``text`` is empty, ``reply_to`` names it.
    unreadable: bool = False
    media: tuple[Media, ...] = ()

    def __post_init__(self) -> None:
        # No database keeps a lone surrogate or a NUL; both become the sign for an unreadable letter.
        for name in ("text", "sender", "external_id"):
            clean = getattr(self, name).encode("utf-8", "replace").decode().replace("\x00", "\ufffd")
            object.__setattr__(self, name, clean)


@dataclass(frozen=True, slots=True)
class Term:
    """A word of the trade that each language has in its terms (``kind.butt``), with the count it agrees with."""

    key: str
    count: int = 1


@dataclass(frozen=True, slots=True)
class Say:
    """One sentence of a reply: a key of ``words/<language>/replies`` and what fills its braces.

    Values may be str, int, float, date, time or datetime (site zone), a list of numbers (written as ranges), a list of
    names, a ``Term``, or a ``Text`` (a dict by language, of which the reader's is taken).
    """

    key: str
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One message to be sent. ``key`` is stored with it, so that a repeat after a crash does not send twice."""

    key: str
    channel: str
    address: str
    text: str
    #: A code confirms an act of weight; its text is not kept once it is sent.
    #: "today" is the text of a room's pinned message, changed in place; the day stands in the key (``today_key``).
    kind: Literal["reply", "notice", "reminder", "code", "today"] = "reply"
    room: str = ""
    #: External id of the message it answers.
    reply_to: str = ""
    media: tuple[Media, ...] = ()
    #: Addresses of those it calls by name in a room.
    mentions: tuple[str, ...] = ()
    #: When it was laid into the outbox: an old one may stand with its reader already.
    queued_at: datetime | None = None


def today_key(room: str, day: str, number: int) -> str:
    """The key of a room's pinned message of a shift day, as it is shown the n-th time."""
    return f"today {day} {number} {room}"


def day_of_key(key: str) -> str:
    """The shift day in such a key."""
    return key.split(" ")[1]
