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
    #: The channel and room the person last wrote from.
    channel: str = ""
    room: str = ""
    asked_at: datetime | None = field(default=None)

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
    }


def of_json(kept: tuple[datetime, Mapping[str, Any]] | None, now: datetime) -> Talk:
    """The talk as kept, without what has grown too old."""
    if kept is None:
        return Talk()
    at, body = kept
    asked_at = datetime.fromisoformat(body["asked_at"]) if body["asked_at"] else None
    talk = Talk(
        tuple(act_of(a) for a in body["last"]),
        _unclear_of(body["pending"]),
        body["why"],
        body["more"],
        body["refused"],
        body["channel"],
        body["room"],
        asked_at,
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
