"""Opening the database and the two transactions of a message: keep it raw, then one turn that answers it.

The only place that begins transactions. What is written in a turn stands or falls together.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import fields
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from sitebot.entries import Entry, PersonJoined, body_of
from sitebot.errors import DataError
from sitebot.journal import chain
from sitebot.journal import tables as t
from sitebot.journal.projections import Row, project
from sitebot.journal.reader import SqlLog
from sitebot.message import Incoming, Outgoing

_INCOMING = tuple(f.name for f in fields(Incoming) if f.name != "media")


def open_engine(url: str) -> sa.Engine:
    """An engine for ``sqlite:///path``, ``sqlite://`` (memory) or ``postgresql+psycopg://...``."""
    if not url.startswith("sqlite"):
        return sa.create_engine(url, pool_pre_ping=True)
    in_memory = url in ("sqlite://", "sqlite:///:memory:")
    pool = {"poolclass": sa.StaticPool} if in_memory else {}
    engine = sa.create_engine(url, connect_args={"check_same_thread": False, "timeout": 30}, **pool)

    @sa.event.listens_for(engine, "connect")
    def _connected(connection: Any, _: object) -> None:
        # The driver's own BEGIN comes too late for reads; we send it ourselves (SQLAlchemy, SQLite dialect notes).
        connection.isolation_level = None
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA synchronous=FULL")

    @sa.event.listens_for(engine, "begin")
    def _begun(connection: sa.Connection) -> None:
        # The write lock first: two messages never number, judge or count against the same state.
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def read_key(path: Path) -> bytes:
    """The signing key at ``path``, made on first use, readable by its owner alone."""
    try:
        return bytes.fromhex(path.read_text())
    except FileNotFoundError:
        key = secrets.token_bytes(32)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(key.hex())
        return key
    except ValueError as error:
        raise DataError(f"{path}: not a key of ours. Restore it from the backup; do not make a new one.") from error


class Turn:
    """One message's transaction: the log as it stands, and everything that the message brings."""

    def __init__(self, tx: sa.Connection, site: str, now: datetime, key: bytes) -> None:
        self.site = site
        self._key = key
        self.now = now
        self.log = SqlLog(tx, site)
        self._tx = tx

    # --- entries ----------------------------------------------------------------------------------------------------

    def record(self, entries: Sequence[Entry], person: str = "", cause: int = 0) -> None:
        """Append entries to the chain and bring the tables up to date."""
        if not entries:
            return
        n = t.entries
        head = self._tx.execute(
            sa.select(n.c.seq, n.c.hash).where(n.c.site == self.site).order_by(n.c.seq.desc()).limit(1)
        ).first()
        seq, before = (head.seq, head.hash) if head else (0, chain.GENESIS)
        for entry in entries:
            seq += 1
            before = self._append(entry, seq, before, person, cause)
        self._sign(seq, before)
        self.log = SqlLog(self._tx, self.site)

    def _sign(self, seq: int, head: str) -> None:
        values = {"seq": seq, "hash": head, "signature": chain.sign(self._key, self.site, seq, head)}
        if not self._tx.execute(t.heads.update().where(t.heads.c.site == self.site).values(**values)).rowcount:
            self._tx.execute(t.heads.insert().values(site=self.site, **values))

    def head(self) -> tuple[int, str]:
        """How many entries there are, and the hash of the last: the seal of the log."""
        row = self._tx.execute(sa.select(t.heads.c.seq, t.heads.c.hash).where(t.heads.c.site == self.site)).first()
        return (row.seq, row.hash) if row else (0, chain.GENESIS)

    def _append(self, entry: Entry, seq: int, before: str, person: str, cause: int) -> str:
        kind, body = type(entry).__name__, chain.canonical(body_of(entry))
        own = chain.link(
            before, site=self.site, seq=seq, at=t.utc_text(self.now), kind=kind, body=body, person=person, cause=cause
        )
        self._tx.execute(
            t.entries.insert().values(
                site=self.site, seq=seq, at=self.now, kind=kind, body=body, person=person, cause=cause, hash=own
            )
        )
        if isinstance(entry, PersonJoined):
            self._keep_apart(entry)
        project(self._tx, Row(self.site, seq, self.now, person), entry)
        return own

    def _keep_apart(self, entry: PersonJoined) -> None:
        """Names and addresses stand beside the chain, where they can be erased."""
        keys = {"site": self.site, "person": entry.person}
        same = sa.and_(t.people.c.site == self.site, t.people.c.person == entry.person)
        if not self._tx.execute(t.people.update().where(same).values(name=entry.name)).rowcount:
            self._tx.execute(t.people.insert().values(**keys, name=entry.name))
        a = t.addresses
        self._tx.execute(
            a.delete().where(
                a.c.site == self.site, sa.or_(a.c.person == entry.person, a.c.address.in_(entry.addresses))
            )
        )
        for rank, address in enumerate(entry.addresses):
            self._tx.execute(a.insert().values(**keys, address=address, rank=rank))

    # --- the message ------------------------------------------------------------------------------------------------

    def message(self, row: int) -> Incoming | None:
        """The kept message, or None where it has been answered meanwhile."""
        found = (
            self._tx.execute(sa.select(t.inbox).where(t.inbox.c.site == self.site, t.inbox.c.id == row))
            .mappings()
            .first()
        )
        if found is None or found["state"] != "new":
            return None
        return Incoming(**{name: found[name] for name in _INCOMING})

    def same_text_before(self, message: Incoming, row: int, within: timedelta) -> bool:
        """Did the same sender send the same text written at the same time (or in the same minute) before?"""
        i = t.inbox
        written = message.written_at or message.received_at
        rows = self._tx.execute(
            sa.select(i.c.written_at, i.c.received_at).where(
                i.c.site == self.site,
                i.c.sender == message.sender,
                i.c.text == message.text,
                i.c.id < row,
                i.c.received_at > message.received_at - timedelta(days=2),
            )
        )
        return any(abs((w or r) - written) < within and bool(w) == bool(message.written_at) for w, r in rows)

    def answered(self, row: int, state: str = "answered") -> None:
        self._tx.execute(t.inbox.update().where(t.inbox.c.site == self.site, t.inbox.c.id == row).values(state=state))

    def queue(self, messages: Sequence[Outgoing], pictures: Mapping[str, str] | None = None) -> None:
        """Lay messages into the outbox; they are sent after the commit."""
        o = t.outbox
        top = self._tx.execute(sa.select(sa.func.max(o.c.id)).where(o.c.site == self.site)).scalar() or 0
        for number, out in enumerate(messages, start=top + 1):
            self._tx.execute(
                o.insert().values(
                    site=self.site,
                    id=number,
                    key=out.key,
                    channel=out.channel,
                    address=out.address,
                    room=out.room,
                    reply_to=out.reply_to,
                    kind=out.kind,
                    text=out.text,
                    picture=(pictures or {}).get(out.key, ""),
                    queued_at=self.now,
                    next_at=self.now,
                    state="queued",
                    tries=0,
                    external_id="",
                )
            )

    # --- talk and wakes ---------------------------------------------------------------------------------------------

    def talk(self, who: str) -> tuple[datetime, dict[str, Any]] | None:
        row = self._tx.execute(sa.select(t.talks).where(t.talks.c.site == self.site, t.talks.c.who == who)).first()
        return (row.at, json.loads(row.body)) if row else None

    def keep_talk(self, who: str, body: Mapping[str, Any]) -> None:
        values = {"at": self.now, "body": json.dumps(body)}
        same = sa.and_(t.talks.c.site == self.site, t.talks.c.who == who)
        if not self._tx.execute(t.talks.update().where(same).values(**values)).rowcount:
            self._tx.execute(t.talks.insert().values(site=self.site, who=who, **values))

    def keep_wakes(self, wakes: Mapping[str, datetime]) -> None:
        """When the site wants to be woken, and for what; takes the place of what was there."""
        w = t.wakes
        old = {r.what: r.due_at for r in self._tx.execute(sa.select(w).where(w.c.site == self.site))}
        if old == dict(wakes):
            return
        self._tx.execute(w.delete().where(w.c.site == self.site))
        for what, due_at in wakes.items():
            self._tx.execute(w.insert().values(site=self.site, what=what, due_at=due_at))


class Journal:
    """The database of one or many sites."""

    def __init__(self, url: str, key: bytes | None = None) -> None:
        self.url = url
        self.engine = open_engine(url)
        #: Signs the head of each log. Without one given a log in memory signs with a key of its own.
        self.key = key or secrets.token_bytes(32)

    @classmethod
    def at(cls, path: Path) -> Journal:
        """A log in a file, its key in a file beside it."""
        return cls(f"sqlite:///{path}", read_key(path.with_suffix(".key")))

    def migrate(self) -> None:
        """Bring the schema to the newest version."""
        from sitebot.journal.migrations import upgrade

        upgrade(self.engine)

    def close(self) -> None:
        self.engine.dispose()

    @contextmanager
    def turn(self, site: str, now: datetime) -> Iterator[Turn]:
        """One transaction under the site's lock; what raises leaves nothing behind."""
        with self.engine.begin() as tx:
            if tx.dialect.name == "postgresql":
                tx.execute(sa.text("SELECT pg_advisory_xact_lock(hashtextextended(:site, 0))"), {"site": site})
            yield Turn(tx, site, now, self.key)

    def sites(self) -> list[str]:
        with self.engine.begin() as tx:
            return list(tx.execute(sa.select(t.sites.c.site).order_by(t.sites.c.site)).scalars())

    def sites_of(self, address: str) -> list[str]:
        """The sites whose people have this address."""
        with self.engine.begin() as tx:
            query = sa.select(t.addresses.c.site).where(t.addresses.c.address == address)
            return list(tx.execute(query.order_by(t.addresses.c.site)).scalars())

    # --- inbox ------------------------------------------------------------------------------------------------------

    def keep(
        self, site: str, messages: Sequence[Incoming], state: Mapping[str, str] | None = None, channel: str = ""
    ) -> list[int]:
        """Keep raw messages, and the channel's own state with them, in one transaction; the rows of the new ones."""
        with self.engine.begin() as tx:
            if tx.dialect.name == "postgresql":
                tx.execute(sa.text("SELECT pg_advisory_xact_lock(hashtextextended(:site, 1))"), {"site": site})
            rows = [row for m in messages if (row := _keep_one(tx, site, m))]
            for key, value in (state or {}).items():
                _keep_state(tx, site, channel, key, value)
        return rows

    def waiting(self, site: str) -> list[int]:
        """Rows kept but not answered, oldest first: what a crash left behind."""
        with self.engine.begin() as tx:
            query = sa.select(t.inbox.c.id).where(t.inbox.c.site == site, t.inbox.c.state == "new")
            return list(tx.execute(query.order_by(t.inbox.c.id)).scalars())

    def failed_once(self, site: str, row: int, most: int) -> int:
        """Count a failure of ours on a message; after ``most`` it is set aside, so that it does not stop the others."""
        same = sa.and_(t.inbox.c.site == site, t.inbox.c.id == row)
        with self.engine.begin() as tx:
            tx.execute(t.inbox.update().where(same).values(tries=t.inbox.c.tries + 1))
            tries = int(tx.execute(sa.select(t.inbox.c.tries).where(same)).scalar_one())
            if tries >= most:
                tx.execute(t.inbox.update().where(same).values(state="failed"))
        return tries

    def channel_state(self, site: str, channel: str) -> dict[str, str]:
        c = t.channel_state
        with self.engine.begin() as tx:
            rows = tx.execute(sa.select(c.c.key, c.c.value).where(c.c.site == site, c.c.channel == channel))
            return {r.key: r.value for r in rows}

    # --- outbox -----------------------------------------------------------------------------------------------------

    def queued(self, now: datetime, limit: int = 100) -> list[tuple[str, int, Outgoing, str]]:
        """Messages to be sent by now, oldest first: site, row, message, picture."""
        o = t.outbox
        query = (
            sa.select(o)
            .where(o.c.state == "queued", o.c.next_at <= now)
            .order_by(o.c.queued_at, o.c.site, o.c.id)
            .limit(limit)
        )
        with self.engine.begin() as tx:
            return [(r["site"], r["id"], _outgoing(r), r["picture"]) for r in tx.execute(query).mappings()]

    def queued_at(self, site: str) -> list[tuple[datetime, Outgoing]]:
        """What waits to be sent on a site, with the time it was queued."""
        o = t.outbox
        query = sa.select(o).where(o.c.site == site, o.c.state == "queued").order_by(o.c.id)
        with self.engine.begin() as tx:
            return [(r["queued_at"], _outgoing(r)) for r in tx.execute(query).mappings()]

    def sent(self, site: str, row: int, external_id: str) -> None:
        self._mark(site, row, state="sent", external_id=external_id)

    def not_sent(self, site: str, row: int, next_at: datetime | None) -> None:
        """Try again at ``next_at``; None gives it up."""
        values = {"state": "failed"} if next_at is None else {"next_at": next_at}
        self._mark(site, row, tries=t.outbox.c.tries + 1, **values)

    def tries(self, site: str, row: int) -> int:
        o = t.outbox
        with self.engine.begin() as tx:
            return int(tx.execute(sa.select(o.c.tries).where(o.c.site == site, o.c.id == row)).scalar_one())

    def _mark(self, site: str, row: int, **values: Any) -> None:
        with self.engine.begin() as tx:
            tx.execute(t.outbox.update().where(t.outbox.c.site == site, t.outbox.c.id == row).values(**values))

    # --- wakes ------------------------------------------------------------------------------------------------------

    def next_wake(self) -> tuple[str, datetime] | None:
        """The site that wants to be woken first, and when."""
        with self.engine.begin() as tx:
            row = tx.execute(sa.select(t.wakes.c.site, t.wakes.c.due_at).order_by(t.wakes.c.due_at).limit(1)).first()
        return (row.site, row.due_at) if row else None


def _keep_one(tx: sa.Connection, site: str, message: Incoming) -> int | None:
    i = t.inbox
    known = sa.select(i.c.id).where(
        i.c.site == site, i.c.channel == message.channel, i.c.external_id == message.external_id
    )
    if tx.execute(known).first():
        return None
    row = int(tx.execute(sa.select(sa.func.max(i.c.id)).where(i.c.site == site)).scalar() or 0) + 1
    values = {name: getattr(message, name) for name in _INCOMING}
    tx.execute(i.insert().values(site=site, id=row, state="new", tries=0, **values))
    return row


def _keep_state(tx: sa.Connection, site: str, channel: str, key: str, value: str) -> None:
    c = t.channel_state
    same = sa.and_(c.c.site == site, c.c.channel == channel, c.c.key == key)
    if not tx.execute(c.update().where(same).values(value=value)).rowcount:
        tx.execute(c.insert().values(site=site, channel=channel, key=key, value=value))


def _outgoing(row: sa.RowMapping) -> Outgoing:
    return Outgoing(
        key=row["key"],
        channel=row["channel"],
        address=row["address"],
        text=row["text"],
        kind=row["kind"],
        room=row["room"],
        reply_to=row["reply_to"],
    )
