"""Rows of the inbox: kept raw, set aside in a flood, handed out in a fair order. What they mean is no matter here."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import timedelta
from typing import Any

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.prepared import Found, Prepared, b, inserting
from sitebot.message import Attached, Incoming

_INCOMING = tuple(f.name for f in fields(Incoming) if f.name != "media")
#: So many waiting messages of one sender are answered before somebody else's turn comes.
ROUND = 8


@dataclass(frozen=True, slots=True)
class Limits:
    """How much is taken in before it is set aside unanswered (kept, counted, never read)."""

    #: Of one person of the roster in an hour; a crew back in coverage sends dozens.
    person_hour: int = 300
    #: Of one number that nobody knows, in an hour.
    stranger_hour: int = 20
    #: When a site gets more than this in a minute, strangers are set aside, whatever their number.
    site_minute: int = 120


def storable(text: str) -> str:
    """The text as every database can hold it: no NUL, no half of a surrogate pair; a mark stands in their place."""
    if "\x00" in text:
        text = text.replace("\x00", "\ufffd")
    try:
        text.encode()
    except UnicodeEncodeError:
        text = text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    return text


def keep(
    tx: sa.Connection, site: str, message: Incoming, limits: Limits, attached: Sequence[Attached] = ()
) -> tuple[int, str] | None:
    """Keep a raw message: its row and how (below); None where it was kept before.

    "new" waits to be read, "over" to be told that it is too much and will not be; "flood" is set aside.
    """
    values = {name: getattr(message, name) for name in _INCOMING}
    values = {name: storable(v) if isinstance(v, str) else v for name, v in values.items()}
    values["media"] = json.dumps([storable_file(a) for a in attached]) if attached else ""
    before = _BEFORE.all(tx, **_before(site, message, values, limits))[0]
    if before["known"] is not None:
        return None
    row = (before["top"] or 0) + 1
    state = "new"
    if _is_flood(message, before, limits):
        state = "over" if before["who"] is not None and _is_first(tx, site, message) else "flood"
    inserting(t.inbox).do(tx, site=site, id=row, state=state, tries=0, **values)
    return row, state


def _b(name: str) -> sa.BindParameter[str]:
    return sa.bindparam(f"b_{name}", type_=sa.Text)


def _before_it() -> sa.Select[Any]:
    """In one row: is it kept already, the last number, the sender's of this hour, who he is, how busy the site is."""
    i, a = t.inbox.c, t.addresses.c
    ours = i.site == _b("site")
    known = sa.select(i.id).where(ours, i.channel == _b("channel"), i.external_id == _b("external_id"))
    first, last = (sa.bindparam(name, type_=t.UtcTime) for name in ("b_first", "b_last"))
    near = sa.and_(i.received_at >= first, i.received_at <= last)
    most = sa.bindparam("b_most", type_=sa.Integer)
    his = sa.select(i.id).where(ours, i.sender == _b("sender"), near).limit(most).subquery()
    top = sa.select(sa.func.max(i.id)).where(ours).scalar_subquery()
    then = sa.select(i.received_at).where(ours, i.id == top + 1 - sa.bindparam("b_minute", type_=sa.Integer))
    who = sa.select(a.person).where(a.site == _b("site"), a.address == _b("sender"))
    return sa.select(
        known.scalar_subquery().label("known"),
        top.label("top"),
        sa.select(sa.func.count()).select_from(his).scalar_subquery().label("his"),
        who.scalar_subquery().label("who"),
        then.scalar_subquery().label("then"),
    )


def _before(site: str, message: Incoming, values: Mapping[str, Any], limits: Limits) -> dict[str, Any]:
    # The clock may have jumped: an hour either way. Counting stops where more would not matter.
    at, hour = message.received_at, timedelta(hours=1)
    named = {f"b_{name}": values[name] for name in ("channel", "external_id", "sender")}
    most = max(limits.person_hour, limits.stranger_hour)
    span = {"b_first": at - hour, "b_last": at + hour}
    return {"b_site": site, **named, **span, "b_most": most, "b_minute": limits.site_minute}


def _is_flood(message: Incoming, before: Found, limits: Limits) -> bool:
    if before["who"] is not None:
        return bool(before["his"] >= limits.person_hour)
    is_busy = before["then"] is not None and abs(message.received_at - before["then"]) < timedelta(minutes=1)
    return bool(before["his"] >= limits.stranger_hour) or is_busy


def _is_first(tx: sa.Connection, site: str, message: Incoming) -> bool:
    """Has the sender heard nothing of it within the hour, and did he write to us?"""
    at, hour = message.received_at, timedelta(hours=1)
    near = {"b_site": site, "b_sender": message.sender, "b_first": at - hour, "b_last": at + hour}
    return (message.addressed or not message.shared) and _TOLD.first(tx, **near) is None


def _told() -> sa.Select[Any]:
    i = t.inbox.c
    first, last = b(i.received_at, "first"), b(i.received_at, "last")
    mine = sa.and_(i.site == b(i.site), i.sender == b(i.sender), i.received_at >= first, i.received_at <= last)
    return sa.select(i.id).where(mine, sa.or_(i.state == "over", i.state == "told"))


def claim(tx: sa.Connection, site: str, row: int) -> tuple[Incoming, tuple[Attached, ...], bool] | None:
    """The message of a row that waits, its files, is it over his share; None: answered, or another process is at it."""
    found = _CLAIM.first(tx, b_site=site, b_row=row)
    return None if found is None else (incoming(found), _files(found["media"]), found["state"] == "over")


def incoming(row: Mapping[str, Any] | sa.RowMapping) -> Incoming:
    """The message of a row, without its media."""
    return Incoming(**{name: row[name] for name in _INCOMING})


def storable_file(attached: Attached) -> list[str | int]:
    return [storable(attached.name), storable(attached.mime), attached.size, attached.sha256]


def _files(text: str) -> tuple[Attached, ...]:
    return tuple(Attached(*one) for one in json.loads(text)) if text else ()


def photos_wanted(tx: sa.Connection) -> set[str]:
    """Hashes that messages still to be answered name, on all sites."""
    i = t.inbox
    waits = sa.select(i.c.media).where(i.c.media != "", i.c.state.not_in(["answered", "repeat"]))
    return {one[3] for text in tx.execute(waits).scalars() for one in json.loads(text)}


def is_resend(tx: sa.Connection, site: str, message: Incoming, row: int, within: timedelta) -> bool:
    written = message.written_at or message.received_at
    same = {f"b_{name}": getattr(message, name) for name in ("sender", "text", *_ALIKE)}
    since = {
        "b_since": message.received_at - timedelta(days=2),
        "b_after": written - within,
        "b_until": written + within,
    }
    like = _LIKE_DATED if message.written_at else _LIKE_UNDATED
    return like.first(tx, b_site=site, b_row=row, **since, **same) is not None


#: Two thumbs-ups, deletions or edits are alike in their text only.
_ALIKE = ("reply_to", "edits", "retracts")


def _like(*, dated: bool) -> sa.Select[Any]:
    i, row = t.inbox.c, sa.bindparam("b_row", type_=sa.Integer)
    same = [i[name] == _b(name) for name in ("site", "sender", "text", *_ALIKE)]
    before = t.inbox.alias("this").c
    media = sa.select(before.media).where(before.site == _b("site"), before.id == row).scalar_subquery()
    written = i.written_at if dated else i.received_at
    return sa.select(i.id).where(
        *same,
        i.written_at.is_not(None) if dated else i.written_at.is_(None),
        written > b(written, "after"),
        written < b(written, "until"),
        i.media == media,
        i.id < row,
        i.received_at > sa.bindparam("b_since", type_=t.UtcTime),
        # What was left alone may be said again, to us.
        i.state != "flood",
        i.state != "told",
        i.state != "left",
    )


def mark(tx: sa.Connection, site: str, row: int, state: str) -> None:
    _MARK.do(tx, b_site=site, b_row=row, state=state)


_THIS = sa.and_(t.inbox.c.site == _b("site"), t.inbox.c.id == sa.bindparam("b_row", type_=sa.Integer))
_BEFORE = Prepared(_before_it())
_LIKE_DATED, _LIKE_UNDATED = Prepared(_like(dated=True)), Prepared(_like(dated=False))
_WAITS = sa.or_(t.inbox.c.state == "new", t.inbox.c.state == "over")
_CLAIM = Prepared(sa.select(t.inbox).where(_THIS, _WAITS).with_for_update(skip_locked=True))
_TOLD = Prepared(_told())
_MARK = Prepared(t.inbox.update().where(_THIS), "state")


def waiting(tx: sa.Connection, site: str, limit: int | None = None) -> list[int]:
    """Rows to be answered, oldest first; who sent very many waits after each ``ROUND`` for the others."""
    most = 2**31 - 1 if limit is None else limit
    return [row["id"] for row in _WAITING.all(tx, b_site=site, b_limit=most)]


def waiting_sites(tx: sa.Connection) -> list[str]:
    return [row["site"] for row in _WAITING_SITES.all(tx)]


def sites_of(tx: sa.Connection, address: str) -> list[str]:
    """The sites whose people have this address."""
    return [row["site"] for row in _SITES_OF.all(tx, b_sender=address)]


def _in_turn() -> sa.Select[Any]:
    i = t.inbox.c
    nth = sa.func.row_number().over(partition_by=i.sender, order_by=i.id)
    rows = sa.select(i.id, ((nth - 1) // ROUND).label("turn")).where(i.site == _b("site"), _WAITS).subquery()
    first = sa.select(rows.c.id).order_by(rows.c.turn, rows.c.id)
    return first.limit(sa.bindparam("b_limit", type_=sa.Integer))


def _sites_in_turn() -> sa.Select[Any]:
    i = t.inbox.c
    return sa.select(i.site).where(_WAITS).group_by(i.site).order_by(sa.func.min(i.received_at))


_WAITING, _WAITING_SITES = Prepared(_in_turn()), Prepared(_sites_in_turn())
_A = t.addresses.c
_SITES_OF = Prepared(sa.select(_A.site).where(_A.address == _b("sender")).order_by(_A.site))


def failed_once(tx: sa.Connection, site: str, row: int, most: int) -> int:
    same = sa.and_(t.inbox.c.site == site, t.inbox.c.id == row)
    tx.execute(t.inbox.update().where(same).values(tries=t.inbox.c.tries + 1))
    tries = int(tx.execute(sa.select(t.inbox.c.tries).where(same)).scalar_one())
    if tries >= most:
        tx.execute(t.inbox.update().where(same).values(state="failed"))
    return tries


def keep_state(tx: sa.Connection, site: str, channel: str, state: Mapping[str, str]) -> None:
    """The channel's own state (a cursor, a sync token), kept with the messages it stands for."""
    for key, value in state.items():
        if not value:
            # An empty value ends its row: a key may hold a number that is to be forgotten.
            _FORGET_STATE.do(tx, b_site=site, b_channel=channel, b_key=key)
        elif not _CHANGE_STATE.do(tx, b_site=site, b_channel=channel, b_key=key, value=value):
            inserting(t.channel_state).do(tx, site=site, channel=channel, key=key, value=value)


def state(tx: sa.Connection, site: str, channel: str) -> dict[str, str]:
    query = sa.select(_STATE.key, _STATE.value).where(_STATE.site == site, _STATE.channel == channel)
    return {r.key: r.value for r in tx.execute(query)}


_STATE = t.channel_state.c
_THAT_STATE = (_STATE.site == b(_STATE.site), _STATE.channel == b(_STATE.channel), _STATE.key == b(_STATE.key))
_FORGET_STATE = Prepared(t.channel_state.delete().where(*_THAT_STATE))
_CHANGE_STATE = Prepared(t.channel_state.update().where(*_THAT_STATE), "value")


def counts(tx: sa.Connection, states: Sequence[str]) -> dict[str, int]:
    """How many messages stand in each of the states."""
    i = t.inbox
    rows = tx.execute(sa.select(i.c.state, sa.func.count()).where(i.c.state.in_(states)).group_by(i.c.state))
    found = {state: int(n) for state, n in rows}
    return {state: found.get(state, 0) for state in states}
