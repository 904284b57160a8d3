"""From an event to an ``Incoming``: text, photo, reaction, edit, deletion. Pure; no text is understood here."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sitebot.channels.matrix.events import Event, at_path, text_at
from sitebot.message import Incoming

NAME = "matrix"
#: Texts of people. m.notice is the word of another bot: never answered, or two of them talk for ever.
SPOKEN = frozenset({"m.text", "m.emote", "m.image", "m.file", "m.audio", "m.video", "m.location"})
ATTACHED = frozenset({"m.image", "m.file", "m.audio", "m.video"})
#: Categories of characters that show nothing or turn the direction of writing; line breaks and tabs stay.
UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
SKIN_AND_STYLE = re.compile("[\U0001f3fb-\U0001f3ff️]")
QUOTED = re.compile(r"\A(> .*\n)+\n?")


@dataclass(frozen=True, slots=True)
class Attachment:
    """Where a photo lies, and the key to it in an encrypted room."""

    where: str
    name: str
    mime: str
    secret: dict[str, Any] = field(default_factory=dict)


def read(event: Event, room: str, me: str, now: datetime) -> Incoming | None:
    """The message in an event; None where nobody said anything to be answered."""
    if event.sender == me or event.state_key is not None or not event.event_id:
        return None
    said = {"m.room.message": spoken, "m.reaction": reacted, "m.room.redaction": taken_back}.get(event.type)
    found = said(event) if said else None
    if found is None:
        return None
    return Incoming(
        channel=NAME,
        external_id=event.event_id,
        sender=event.sender,
        received_at=now,
        written_at=event.at,
        room=room,
        thread=event.thread,
        **found,
    )


def spoken(event: Event) -> dict[str, Any] | None:
    """Fields of a text, photo or edit."""
    if event.relation == "m.replace":
        content = at_path(event.content, "m.new_content")
        return {"edits": event.related_to, "text": clean(words(content))} if is_spoken(content) else None
    if not is_spoken(event.content):
        return None
    return {"text": clean(words(event.content, quoting=bool(event.reply_to))), "reply_to": event.reply_to}


def is_spoken(content: Any) -> bool:
    return text_at(content, "msgtype") in SPOKEN


def words(content: Any, *, quoting: bool = False) -> str:
    """The words of a message: of a photo its caption only, of a reply without an older client's quotation."""
    body = text_at(content, "body")
    if text_at(content, "msgtype") in ATTACHED:
        return body if text_at(content, "filename") not in ("", body) else ""
    return QUOTED.sub("", body) if quoting else body


def reacted(event: Event) -> dict[str, Any] | None:
    """A thumbs-up is a thumbs-up in every colour."""
    key = text_at(event.content, "m.relates_to", "key")
    if event.relation != "m.annotation" or not key or not event.related_to:
        return None
    return {"text": SKIN_AND_STYLE.sub("", clean(key))[:64], "reply_to": event.related_to, "reaction": True}


def taken_back(event: Event) -> dict[str, Any] | None:
    """Since room version 11 the id stands in the content, before beside it."""
    target = text_at(event.content, "redacts") or event.redacts
    return {"text": "", "retracts": target} if target else None


def clean(text: str) -> str:
    """The text without what nobody sees: control characters, direction marks, halves of characters."""
    return "".join(c for c in text if c in "\n\t" or unicodedata.category(c) not in UNSEEN).strip()


def attachment(event: Event) -> Attachment | None:
    """The photo or file of a message."""
    content = event.content
    if event.type != "m.room.message" or text_at(content, "msgtype") not in ATTACHED or event.relation == "m.replace":
        return None
    secret = at_path(content, "file")
    return Attachment(
        where=text_at(content, "file", "url") or text_at(content, "url"),
        name=clean(text_at(content, "filename") or text_at(content, "body"))[:200] or "photo",
        mime=text_at(content, "info", "mimetype") or "application/octet-stream",
        secret=secret if isinstance(secret, dict) else {},
    )


def names_us(event: Event, me: str, names: Iterable[str]) -> bool:
    """Whether a message calls us: by a mention, by ``@name`` anywhere or by the name at its beginning."""
    mentioned = at_path(event.content, "m.mentions", "user_ids")
    if isinstance(mentioned, list) and me in mentioned:
        return True
    body = text_at(event.content, "body")
    return me in body or any(calling(name).search(body) for name in names if name)


def calling(name: str) -> re.Pattern[str]:
    return re.compile(rf"(\A\s*@?{re.escape(name)}\b)|(@{re.escape(name)}\b)", re.IGNORECASE)


def without_name(text: str, me: str, names: Iterable[str]) -> str:
    """The text without the address in front: "sitebot: how hot?" asks "how hot?"."""
    for name in (me, *names):
        match = re.match(rf"\s*@?{re.escape(name)}\b\s*[:,]?\s*", text, re.IGNORECASE) if name else None
        if match and match.end() < len(text):
            return text[match.end() :]
    return text
