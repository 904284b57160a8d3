"""What was heard and said before, looked up by the ids of its channel: for edits, deletions and signs. Only reads."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.inbox import incoming
from sitebot.journal.outbox import outgoing
from sitebot.journal.prepared import Prepared, b
from sitebot.message import Incoming, Outgoing
from sitebot.record import Line

#: In a room where nobody wrote for so long nobody is reminded.
LATELY = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Kept:
    """A message of the inbox, and what became of it."""

    row: int
    state: str
    message: Incoming


class Traces:
    """The traffic of a site before this moment."""

    def __init__(self, tx: sa.Connection, site: str, now: datetime) -> None:
        self._tx = tx
        self._site = site
        self._now = now

    def heard(self, channel: str, external_id: str) -> Kept | None:
        """A message by its id, whatever became of it."""
        i = t.inbox
        query = sa.select(i).where(i.c.site == self._site, i.c.channel == channel, i.c.external_id == external_id)
        found = self._tx.execute(query).mappings().first()
        return _kept(found) if found else None

    def versions(self, first: Kept, before: int) -> list[Kept]:
        """A message and its edits by the same person, as they came."""
        i = t.inbox
        edits = sa.select(i).where(
            i.c.site == self._site,
            i.c.sender == first.message.sender,
            i.c.received_at >= first.message.received_at,
            i.c.channel == first.message.channel,
            i.c.edits == first.message.external_id,
            i.c.id < before,
        )
        return [first, *(_kept(found) for found in self._tx.execute(edits.order_by(i.c.id)).mappings())]

    def caused_by(self, versions: Sequence[Kept]) -> list[Line]:
        """The entries that these messages brought."""
        n = t.entries
        rows = [kept.row for kept in versions]
        query = sa.select(n).where(n.c.site == self._site, n.c.cause.in_(rows)).order_by(n.c.seq)
        found = self._tx.execute(query).mappings()
        return [Line(r["seq"], r["at"], r["kind"], json.loads(r["body"]), r["person"]) for r in found]

    def said(self, channel: str, external_id: str) -> Outgoing | None:
        """A message of ours by the id it has on its channel."""
        o = t.outbox
        query = sa.select(o).where(o.c.site == self._site, o.c.channel == channel, o.c.external_id == external_id)
        row = self._tx.execute(query).mappings().first()
        return outgoing(row) if row else None

    def crew_room(self, channel: str = "") -> tuple[str, str]:
        """The (channel, room) in which most people of the roster have written of late; empty where they share none."""
        told = {"b_site": self._site, "b_since": self._now - LATELY}
        asked = _ROOM_ON.all(self._tx, b_channel=channel, **told) if channel else _ROOM.all(self._tx, **told)
        return (asked[0]["channel"], asked[0]["room"]) if asked else ("", "")


def _rooms() -> sa.Select[Any]:
    """Rooms of late, that with most people of the roster first."""
    i, a = t.inbox.c, t.addresses.c
    known = sa.and_(a.site == i.site, a.address == i.sender)
    return (
        sa.select(i.channel, i.room)
        .join_from(t.inbox, t.addresses, known)
        .where(i.site == b(i.site), i.shared, i.received_at >= b(i.received_at, "since"))
        .group_by(i.channel, i.room)
        .order_by(sa.func.count(a.person.distinct()).desc(), sa.func.max(i.id).desc())
        .limit(sa.literal_column("1"))
    )


_ROOM, _ROOM_ON = Prepared(_rooms()), Prepared(_rooms().where(t.inbox.c.channel == b(t.inbox.c.channel)))


def _kept(found: sa.RowMapping) -> Kept:
    return Kept(found["id"], found["state"], incoming(found))
