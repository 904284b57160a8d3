"""The contents of the events we send: texts with an HTML body, replies, threads, edits, pictures. Pure.

Nothing of a sender's markup is echoed: the HTML is made from our plain text, everything in it escaped.
"""

from __future__ import annotations

import hashlib
import html
import struct
import unicodedata
from collections.abc import Mapping
from typing import Any

from sitebot.message import Media, Outgoing

Content = dict[str, Any]

#: Own mark in the content, by which a message is found again in the room after the server forgot its transaction id.
MARK = "sitebot.key"
#: An event may have 65,536 bytes, encrypted about 47,000 of text; HTML doubles it.
LONGEST_BYTES = 16_000
#: Direction marks and the like that a text of a person may have brought into our answer.
TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")


def mark_of(key: str, part: int = 0) -> str:
    """The mark of one part of a message; also its transaction id, so the same message is the same event."""
    return f"sb-{hashlib.sha256(key.encode('utf-8', 'replace')).hexdigest()[:32]}-{part}"


def row_of(out: Outgoing) -> str:
    """What makes a row of the outbox this row: its key, and what it says to whom.

    The key alone would do within one log. But in a log begun anew "1-r" comes again within the homeserver's memory, and
    the homeserver would answer with yesterday's event and send nothing.
    """
    return "\n".join((out.key, out.address, out.room, out.reply_to, out.text))


def text_content(text: str, mark: str = "", mentions: tuple[str, ...] = ()) -> Content:
    """A text. Not m.notice: the default push rules are silent for notices, and "unplug the iron" has to ring."""
    return {
        "msgtype": "m.text",
        "body": text,
        "format": "org.matrix.custom.html",
        "formatted_body": html.escape(text, quote=False).replace("\n", "<br>"),
        # Always there: without it clients search the body for names and "@room".
        "m.mentions": {"user_ids": list(mentions)} if mentions else {},
        **({MARK: mark} if mark else {}),
    }


def pieces(text: str) -> list[str]:
    """The text in pieces that fit an event, cut between lines or words where there are any."""
    rest, cut = plain(text), []
    while len(rest.encode()) > LONGEST_BYTES:
        head = rest.encode()[:LONGEST_BYTES].decode(errors="ignore")
        at = head.rfind("\n") + 1 or head.rfind(" ") + 1 or len(head)
        cut.append(rest[:at].rstrip())
        rest = rest[at:]
    return [*cut, rest] if rest or not cut else cut


def plain(text: str) -> str:
    """The text without halves of characters (a server answers 500), control characters and direction marks."""
    sound = text.encode("utf-8", "replace").decode()
    return "".join(c for c in sound if c in "\n\t" or (unicodedata.category(c) != "Cc" and c not in TURNING))


def relation(reply_to: str, thread: str) -> Content:
    """The tie to the message that is answered, in its thread if it was in one."""
    if not reply_to:
        return {}
    tie: Content = {"m.in_reply_to": {"event_id": reply_to}}
    if thread:
        tie |= {"rel_type": "m.thread", "event_id": thread, "is_falling_back": False}
    return {"m.relates_to": tie}


def edited(original: str, content: Content) -> Content:
    """New content for an event of ours; the body before it is for clients that know no edits."""
    return {
        **content,
        "body": "* " + content["body"],
        "formatted_body": "* " + content["formatted_body"],
        "m.new_content": content,
        "m.relates_to": {"rel_type": "m.replace", "event_id": original},
    }


def picture_content(media: Media, where: Mapping[str, Any]) -> Content:
    """A picture or file that has been uploaded; ``where`` is its url, or file with the key to it."""
    info: Content = {"mimetype": media.mime, "size": len(media.data), **size_of(media.data)}
    kind = "m.image" if media.mime.startswith("image/") else "m.file"
    return {"msgtype": kind, "body": media.name, "filename": media.name, "info": info, **where}


def size_of(data: bytes) -> dict[str, int]:
    """Width and height of a PNG (our drawings are), so that a client leaves room before it has loaded it."""
    if data[:8] != b"\x89PNG\r\n\x1a\n" or len(data) < 24:
        return {}
    width, height = struct.unpack(">II", data[16:24])
    return {"w": width, "h": height}
