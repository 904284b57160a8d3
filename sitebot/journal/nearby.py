"""What was said near a message: the one it replies to, and the same sender's of the minute before."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import timedelta

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.message import Incoming

#: So many entries or sent messages back, nobody replies any more; and no table is read through for it.
FAR_BACK = 20_000


def near(
    tx: sa.Connection, site: str, message: Incoming, row: int, within: timedelta
) -> Iterator[tuple[list[int], str]]:
    """Splices recorded because of each, and its words."""
    rows = [*_replied_to(tx, site, message), *_just_before(tx, site, message, row, within)]
    for found in dict.fromkeys(rows):
        text = tx.execute(sa.select(t.inbox.c.text).where(t.inbox.c.site == site, t.inbox.c.id == found)).scalar()
        yield _numbers(tx, site, found), text or ""


def _replied_to(tx: sa.Connection, site: str, message: Incoming) -> list[int]:
    """The message replied to; where that is an answer of ours, the message it answered."""
    if not message.reply_to:
        return []
    i, o = t.inbox.c, t.outbox.c
    same = (i.site == site, i.channel == message.channel, i.external_id == message.reply_to)
    if found := tx.execute(sa.select(i.id).where(*same)).scalar():
        return [found]
    top = tx.execute(sa.select(sa.func.max(o.id)).where(o.site == site)).scalar() or 0
    ours = (o.site == site, o.id > top - FAR_BACK, o.channel == message.channel, o.external_id == message.reply_to)
    key = tx.execute(sa.select(o.key).where(*ours)).scalar() or ""
    first = key.split("-", 1)[0]
    return [int(first)] if first.isdecimal() else []


def _just_before(tx: sa.Connection, site: str, message: Incoming, row: int, within: timedelta) -> list[int]:
    i = t.inbox.c
    mine = (i.site == site, i.sender == message.sender, i.id < row, i.state == "answered")
    written = message.written_at or message.received_at
    query = sa.select(i.id, i.written_at, i.received_at).where(*mine).order_by(i.received_at.desc()).limit(5)
    return [r.id for r in tx.execute(query) if abs(written - (r.written_at or r.received_at)) <= within]


def _numbers(tx: sa.Connection, site: str, cause: int) -> list[int]:
    n = t.entries.c
    top = tx.execute(sa.select(sa.func.max(n.seq)).where(n.site == site)).scalar() or 0
    query = sa.select(n.body).where(n.site == site, n.seq > top - FAR_BACK, n.cause == cause).order_by(n.seq)
    found: list[int] = []
    for body in tx.execute(query).scalars():
        found += _named(json.loads(body))
    return list(dict.fromkeys(found))


def _named(body: dict[str, object]) -> Sequence[int]:
    """The splices an entry names; of a renumbered one its new number."""
    number = body.get("to") if isinstance(body.get("to"), int) else body.get("number")
    numbers = body.get("numbers")
    return [number] if isinstance(number, int) else numbers if isinstance(numbers, list) else []
