"""What was said just before: a person's last acts, the question that waits, the reason behind the last answer.

Kept as JSON beside the log, good for one shift; never part of the record.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from sitebot.acts import Act, Unclear

#: A question of ours that nobody answers is forgotten; last matters live about a shift.
PENDING_LIFE = timedelta(minutes=45)
LIFE = timedelta(hours=14)
#: So many last acts are remembered.
MOST_ACTS = 12


@dataclass(frozen=True, slots=True)
class Talk:
    """The talk with one person."""

    last: tuple[Act, ...] = ()
    pending: Unclear | None = None
    #: Ready to send: the reason of the last answer, and the rest of a long one.
    why: str = ""
    more: str = ""
    #: The day a stranger was last refused.
    refused: str = ""
    #: The channel the person last wrote from, and the room he has there with us alone.
    channel: str = ""
    room: str = ""
    asked_at: datetime | None = field(default=None)
    #: Key of the message of ours that asked what waits.
    asked_in: str = ""
    #: When and in which room we last heard him.
    at: datetime | None = None
    heard_in: str = ""
    #: When he was last asked to write again, because nobody could read him.
    unread_at: datetime | None = None

    def heard(self, acts: tuple[Act, ...]) -> Talk:
        return replace(self, last=(*reversed(acts), *self.last)[:MOST_ACTS])


def to_json(talk: Talk) -> dict[str, Any]:
    return {
        "last": [act_to(a) for a in talk.last],
        "pending": _unclear(talk.pending),
        "why": talk.why,
        "more": talk.more,
        "refused": talk.refused,
        "channel": talk.channel,
        "room": talk.room,
        "asked_at": talk.asked_at.isoformat() if talk.asked_at else None,
        "asked_in": talk.asked_in,
        "heard_in": talk.heard_in,
        "unread_at": talk.unread_at.isoformat() if talk.unread_at else None,
    }


def of_json(kept: tuple[datetime, Mapping[str, Any]] | None, now: datetime) -> Talk:
    """The talk as kept, without what has grown too old."""
    if kept is None:
        return Talk()
    at, body = kept
    asked_at, unread_at = (datetime.fromisoformat(body[k]) if body.get(k) else None for k in ("asked_at", "unread_at"))
    talk = Talk(
        tuple(act_of(a) for a in body["last"]),
        _unclear_of(body["pending"]),
        body["why"],
        body["more"],
        body["refused"],
        body["channel"],
        body["room"],
        asked_at,
        asked_in=body.get("asked_in", ""),
        at=at,
        heard_in=body.get("heard_in", ""),
        unread_at=unread_at,
    )
    if now - at > LIFE:
        return Talk(refused=talk.refused, channel=talk.channel, room=talk.room)
    if asked_at is None or now - asked_at > PENDING_LIFE:
        return replace(talk, pending=None)
    return talk


def act_to(act: Act) -> dict[str, Any]:
    return {"name": act.name, "facts": dict(act.facts), "confidence": act.confidence}


def act_of(body: Mapping[str, Any]) -> Act:
    return Act(body["name"], body["facts"], body["confidence"])


def _unclear(unclear: Unclear | None) -> dict[str, Any] | None:
    if unclear is None:
        return None
    choices = [[act_to(a) for a in acts] for acts in unclear.choices]
    return {"about": unclear.about, "choices": choices, "values": dict(unclear.values)}


def _unclear_of(body: Mapping[str, Any] | None) -> Unclear | None:
    if body is None:
        return None
    choices = tuple(tuple(act_of(a) for a in acts) for acts in body["choices"])
    return Unclear(body["about"], choices, body["values"])
