"""Rows of the outbox: laid in with the turn, handed out in order by channel, marked. Nothing is sent here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache
from typing import Any

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.prepared import Found, Prepared, b, inserting
from sitebot.message import Outgoing, day_of_key, today_key


def lay(tx: sa.Connection, site: str, now: datetime, messages: Sequence[Outgoing], pictures: Mapping[str, str]) -> None:
    for number, out in enumerate(messages, start=_top(tx, site) + 1):
        inserting(t.outbox).do(tx, **_row(site, number, now, out, pictures))


def _row(site: str, number: int, now: datetime, out: Outgoing, pictures: Mapping[str, str]) -> dict[str, Any]:
    return {
        "site": site,
        "id": number,
        "key": out.key,
        "channel": out.channel,
        "address": out.address,
        "room": out.room,
        "reply_to": out.reply_to,
        "kind": out.kind,
        "text": out.text,
        "picture": pictures.get(out.key, ""),
        "mentions": " ".join(out.mentions),
        "queued_at": now,
        "next_at": now,
        "state": "queued",
        "tries": 0,
        "external_id": "",
    }


#: A pinned message is changed this often at most.
TODAY_EVERY = timedelta(minutes=1)


def show_today(tx: sa.Connection, site: str, now: datetime, day: str, out: Outgoing) -> None:
    """Have the room's pinned message show this text: in place of what still waits, else a while after the last time."""
    o = t.outbox
    same = sa.and_(o.c.site == site, o.c.channel == out.channel, o.c.room == out.room, o.c.kind == "today")
    last = tx.execute(sa.select(o).where(same).order_by(o.c.id.desc()).limit(1)).mappings().first()
    shown = last is not None and day_of_key(last["key"]) == day
    if last is None or not shown:
        lay(tx, site, now, [_today(out, day, last["id"] + 1 if last else 0)], {})
    elif last["text"] == out.text:
        return
    elif last["state"] == "queued" and last["next_at"] > now:
        mark(tx, site, last["id"], text=out.text)
    else:
        # What is due may be under way with its text. Tried once, as it were: then its own time is waited for.
        lay(tx, site, now, [_today(out, day, last["id"] + 1)], {})
        mark(tx, site, _top(tx, site), tries=1, next_at=max(now, last["next_at"] + TODAY_EVERY))


def _today(out: Outgoing, day: str, number: int) -> Outgoing:
    return replace(out, key=today_key(out.room, day, number), kind="today")


def _top(tx: sa.Connection, site: str) -> int:
    return int(_TOP.value(tx, b_site=site) or 0)


_TOP = Prepared(sa.select(sa.func.max(t.outbox.c.id)).where(t.outbox.c.site == b(t.outbox.c.site)))


#: Longer than any wait between tries. A row that is to wait longer was marked by a clock that had jumped ahead.
LONGEST = timedelta(hours=1)


#: A row that failed so often no longer holds up what is behind it: an hour out of order beats an hour of silence.
HOLDS = 6


def queued(
    tx: sa.Connection, now: datetime, channel: str | None, limit: int, per_lane: int | None = None
) -> Sequence[Found]:
    """Messages to be sent by now, oldest first. Nobody gets a later message before an earlier one that must wait.

    At most ``per_lane`` of each room, so that one with thousands does not hide the others.
    """
    values = {"b_now": now, "b_latest": now + LONGEST, "b_channel": channel, "b_limit": limit, "b_most": per_lane}
    return _queued(channel is not None, per_lane is not None).all(tx, **values)


@cache
def _queued(of_channel: bool, by_lane: bool) -> Prepared:
    """The question itself, made once: it is asked between an answer and its sending."""
    o, before = t.outbox, t.outbox.alias("before")
    same = (before.c.site == o.c.site, before.c.channel == o.c.channel, _lane(before) == _lane(o))
    holds = sa.and_(before.c.state == "queued", before.c.tries <= HOLDS, _waits(before))
    is_behind = sa.exists().where(holds, *same, before.c.id < o.c.id)
    due = sa.and_(o.c.state == "queued", ~_waits(o), ~is_behind.correlate(o))
    if of_channel:
        due = sa.and_(due, o.c.channel == sa.bindparam("b_channel", type_=sa.Text))
    limit = sa.bindparam("b_limit", type_=sa.Integer)
    if not by_lane:
        return Prepared(sa.select(o).where(due).order_by(o.c.queued_at, o.c.site, o.c.id).limit(limit))
    place = sa.func.row_number().over(partition_by=(o.c.site, o.c.channel, _lane(o)), order_by=o.c.id)
    r = sa.select(o, place.label("place")).where(due).subquery()
    first = sa.select(r).where(r.c.place <= sa.bindparam("b_most", type_=sa.Integer))
    return Prepared(first.order_by(r.c.queued_at, r.c.site, r.c.id).limit(limit))


def _lane(rows: sa.FromClause) -> sa.ColumnElement[str]:
    """A room, else a person; a pinned message waits for nobody and holds up nobody."""
    return sa.case((rows.c.kind == "today", "today"), (rows.c.room != "", rows.c.room), else_=rows.c.address)


def _waits(rows: sa.FromClause) -> sa.ColumnElement[bool]:
    """Tried before, and its next try is still to come."""
    now, latest = (sa.bindparam(name, type_=t.UtcTime) for name in ("b_now", "b_latest"))
    return sa.and_(rows.c.tries > 0, rows.c.next_at > now, rows.c.next_at <= latest)


def of_site(tx: sa.Connection, site: str) -> Sequence[sa.RowMapping]:
    query = sa.select(t.outbox).where(t.outbox.c.site == site, t.outbox.c.state == "queued")
    return tx.execute(query.order_by(t.outbox.c.id)).mappings().all()


def mark(tx: sa.Connection, site: str, row: int, **values: Any) -> None:
    tx.execute(t.outbox.update().where(t.outbox.c.site == site, t.outbox.c.id == row).values(**values))


def hurry(tx: sa.Connection, channels: Sequence[str], now: datetime) -> None:
    o = t.outbox.c
    waits = sa.and_(o.state == "queued", o.next_at > now, o.tries > 0, o.kind != "today", o.channel.in_(channels))
    tx.execute(t.outbox.update().where(waits).values(next_at=now))


def text_once_settled() -> sa.ColumnElement[str]:
    """What is kept of a text that needs no sending any more: of a code nothing."""
    return sa.case((t.outbox.c.kind == "code", ""), else_=t.outbox.c.text)


def tries(tx: sa.Connection, site: str, row: int) -> int:
    o = t.outbox
    return int(tx.execute(sa.select(o.c.tries).where(o.c.site == site, o.c.id == row)).scalar_one())


def outgoing(row: Mapping[str, Any] | sa.RowMapping) -> Outgoing:
    names = ("key", "channel", "address", "text", "kind", "room", "reply_to", "queued_at")
    return Outgoing(**{name: row[name] for name in names}, mentions=tuple(row["mentions"].split()))


def counts(tx: sa.Connection) -> tuple[int, int, datetime | None]:
    """How many messages wait to be sent, how many were given up, and when the oldest waiting one was queued."""
    by_state: dict[str, int] = {state: int(n) for state, n in tx.execute(_COUNTS)}
    oldest = tx.execute(_OLDEST).scalar()
    return by_state.get("queued", 0), by_state.get("lost", 0) + by_state.get("failed", 0), oldest


_STATE = t.outbox.c.state
_COUNTS = sa.select(_STATE, sa.func.count()).where(_STATE.in_(["queued", "lost", "failed"])).group_by(_STATE)
_OLDEST = sa.select(sa.func.min(t.outbox.c.queued_at)).where(_STATE == "queued")


def lost(tx: sa.Connection, site: str) -> list[Outgoing]:
    """What was given up and not told to anybody yet; told from now on."""
    o = t.outbox
    gone = sa.and_(o.c.state == "lost", o.c.site == site)
    rows = tx.execute(sa.select(o).where(gone).order_by(o.c.id)).mappings().all()
    if rows:
        tx.execute(o.update().where(gone).values(state="failed"))
    return [outgoing(r) for r in rows]
