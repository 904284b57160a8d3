"""The journal of one or many sites: keep a message raw, then one turn that answers it. Here transactions begin and end.

What is written in a turn stands or falls together. What the rows mean stands in inbox, outbox, turn and projections.
"""

from __future__ import annotations

import secrets
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from sitebot.errors import DataError
from sitebot.journal import engine as db
from sitebot.journal import holding, inbox, outbox
from sitebot.journal import tables as t
from sitebot.journal.asking import Remembered
from sitebot.journal.inbox import Limits
from sitebot.journal.laying import MOST_PHOTOS, laid_down
from sitebot.journal.reader import SqlLog
from sitebot.journal.turn import Turn, Turns
from sitebot.message import Attached, Incoming, Outgoing
from sitebot.photos import Folder

__all__ = ["Journal", "Load", "Turn"]


@dataclass(frozen=True, slots=True)
class Load:
    """What waits, at one moment."""

    new: int
    failed: int
    flood: int
    queued: int
    not_sent: int
    #: When the oldest message that waits to be sent was queued.
    oldest: datetime | None


class Journal:
    """The database of one or many sites."""

    def __init__(self, url: str, key: bytes | None = None, limits: Limits | None = None) -> None:
        self.url = url
        self.engine = db.open_engine(url)
        #: Signs the head of each log. Without one given a log in memory signs with a key of its own.
        self.key = key or secrets.token_bytes(32)
        self.limits = limits or Limits()
        #: The channels whose messages this process may send; None: all.
        self.sends: frozenset[str] | None = None
        path = db.own_file(url)
        self._remembered = Remembered()
        self._file_lease = holding.FileLease(path.with_suffix(".lock")) if path else None

    @classmethod
    def at(cls, path: Path) -> Journal:
        """A log in a file, its key in a file beside it."""
        db.make_private(path)
        return cls(f"sqlite:///{path}", db.read_key(path.with_suffix(".key")))

    @classmethod
    def open(cls, url: str, key: Path | None = None) -> Journal:
        """A log by its address; its key stands beside a file, or where ``key`` says."""
        path = db.own_file(url)
        if path is not None:
            db.make_private(path)
        key = key or (path.with_suffix(".key") if path else None)
        if key is None:
            raise DataError("settings: key: no key file named. Name one that all workers of this database share.")
        journal = cls(url, db.read_key(key))
        if path is None:
            # All workers share the folder of the key; so they do the photos.
            journal.photos = Folder(key.with_suffix(".photos"))
        return journal

    @cached_property
    def photos(self) -> Folder | None:
        """Where originals lie: beside the log's file or the key; of a log in memory as long as it lasts."""
        if path := db.own_file(self.url):
            return Folder(path.with_suffix(".photos"))
        if self.is_shared:
            return None
        self._passing = tempfile.TemporaryDirectory(prefix="sitebot-")
        return Folder(Path(self._passing.name))

    @property
    def is_shared(self) -> bool:
        """Several processes may work on it."""
        return self.engine.dialect.name == "postgresql"

    def migrate(self) -> None:
        """Bring the schema to the newest version."""
        from sitebot.journal.migrations import upgrade

        upgrade(self.engine)

    def close(self) -> None:
        if self._file_lease:
            self._file_lease.give_back()
        self.engine.dispose()

    # --- transactions -----------------------------------------------------------------------------------------------

    @contextmanager
    def turn(self, site: str, now: datetime) -> Iterator[Turn]:
        """One transaction under the site's lock; what raises leaves nothing behind."""
        with self.turns(site, now) as turns, turns.alone() as turn:
            yield turn

    @contextmanager
    def turns(self, site: str, now: datetime) -> Iterator[Turns]:
        """Several turns under the site's lock, committed together at the end."""
        known = self._remembered.take(site)
        with self.engine.begin() as tx:
            db.lock(tx, site, 0)
            turns = Turns(tx, site, now, self.key, known)
            yield turns
        self._remembered.put(site, turns.known)

    def reading(self) -> AbstractContextManager[sa.Connection]:
        """One state of the log to read; writers do not wait for it."""
        return db.reading(self.engine)

    @contextmanager
    def log(self, site: str) -> Iterator[SqlLog]:
        """A site's log to look at, as it stands now."""
        with self.reading() as tx:
            yield SqlLog(tx, site)

    def site_held(self, site: str) -> AbstractContextManager[bool]:
        """True while no other process answers the messages of this site."""
        return holding.site_held(self.engine, site)

    def sites(self) -> list[str]:
        with self.reading() as tx:
            return list(tx.execute(sa.select(t.sites.c.site).order_by(t.sites.c.site)).scalars())

    def heads(self) -> dict[str, tuple[int, str]]:
        """How many entries each site has, and the hash of its last."""
        with self.reading() as tx:
            rows = tx.execute(sa.select(t.heads.c.site, t.heads.c.seq, t.heads.c.hash))
            return {r.site: (r.seq, r.hash) for r in rows}

    def compact(self) -> None:
        """Give the pages of what was deleted back, so that no copy of it stays in the file."""
        if not self.is_shared:
            with closing(self.engine.raw_connection()) as connection:
                cursor = connection.cursor()
                for statement in ("VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"):
                    cursor.execute(statement).fetchall()

    def last_entry(self) -> datetime | None:
        """When the latest entry of any site was written."""
        with self.reading() as tx:
            return tx.execute(sa.select(sa.func.max(t.entries.c.at))).scalar()

    def database_clock(self) -> datetime:
        """The time it is at the database."""
        with self.reading() as tx:
            return datetime.fromtimestamp(holding.clock(tx), UTC)

    def is_empty(self) -> bool:
        """No table of ours stands in the database."""
        with self.reading() as tx:
            return not set(sa.inspect(tx).get_table_names()) & set(t.metadata.tables)

    def sites_of(self, address: str) -> list[str]:
        """The sites whose people have this address."""
        with self.reading() as tx:
            return inbox.sites_of(tx, address)

    def load(self) -> Load:
        """What waits now."""
        with self.reading() as tx:
            rows = inbox.counts(tx, ["new", "over", "failed", "flood"])
            return Load(rows["new"] + rows["over"], rows["failed"], rows["flood"], *outbox.counts(tx))

    # --- inbox ------------------------------------------------------------------------------------------------------

    def keep(
        self, site: str, messages: Sequence[Incoming], state: Mapping[str, str] | None = None, channel: str = ""
    ) -> list[int]:
        """Keep raw messages, and the channel's own state with them, in one transaction; the rows of the new ones."""
        brought = [(m, self._laid_down(m)) for m in messages]
        with self.engine.begin() as tx:
            db.lock(tx, site, 1)
            rows = [kept for m, a in brought if (kept := inbox.keep(tx, site, m, self.limits, a))]
            inbox.keep_state(tx, site, channel, state or {})
        return [row for row, kept_as in rows if kept_as != "flood"]

    def _laid_down(self, message: Incoming) -> list[Attached]:
        """Its photos on the disk before anything names them; those of strangers and endless ones only by name."""
        if not message.media:
            return []
        keeps = self.photos if self.sites_of(message.sender) else None
        return [laid_down(m, keeps) for m in message.media[:MOST_PHOTOS]]

    def photos_named(self) -> set[str]:
        """Every photo that an entry or a message still to be answered names: all others are orphans."""
        with self.reading() as tx:
            return inbox.photos_wanted(tx) | set(tx.execute(sa.select(t.photos.c.sha256)).scalars())

    def waiting(self, site: str, limit: int | None = None) -> list[int]:
        """Rows kept but not answered, oldest first and fair to all senders."""
        with self.reading() as tx:
            return inbox.waiting(tx, site, limit)

    def waiting_sites(self) -> list[str]:
        """Sites with messages that wait for an answer, the longest waiting first."""
        with self.reading() as tx:
            return inbox.waiting_sites(tx)

    def failed_once(self, site: str, row: int, most: int) -> int:
        """Count a failure of ours on a message; after ``most`` it is set aside, so that it does not stop the others."""
        with self.engine.begin() as tx:
            return inbox.failed_once(tx, site, row, most)

    def channel_state(self, site: str, channel: str) -> dict[str, str]:
        with self.reading() as tx:
            return inbox.state(tx, site, channel)

    # --- leases -----------------------------------------------------------------------------------------------------

    def take_lease(self, site: str, channel: str, holder: str, seconds: float) -> bool:
        """Take or renew a channel account; False where another process holds it."""
        if not self.is_shared:
            return self._file_lease is None or self._file_lease.take()
        with self.engine.begin() as tx:
            return holding.take(tx, site, channel, holder, seconds)

    def give_back_lease(self, site: str, channel: str, holder: str) -> None:
        if not self.is_shared:
            return  # the other channels of this process go on; it ends with the process
        with self.engine.begin() as tx:
            holding.give_back(tx, site, channel, holder)

    def leases(self) -> list[tuple[str, str, float]]:
        """Channel, holder and seconds left of each lease that holds."""
        with self.reading() as tx:
            return holding.holders(tx)

    # --- outbox -----------------------------------------------------------------------------------------------------

    def queued(
        self, now: datetime, limit: int = 100, per_lane: int | None = None
    ) -> list[tuple[str, int, Outgoing, str]]:
        """Messages to be sent by now, oldest first: site, row, message, picture."""
        with self.reading() as tx:
            lanes = [None] if self.sends is None else sorted(self.sends)
            rows = [r for channel in lanes for r in outbox.queued(tx, now, channel, limit, per_lane)]
        return [(r["site"], r["id"], outbox.outgoing(r), r["picture"]) for r in rows]

    def queued_at(self, site: str) -> list[tuple[datetime, Outgoing]]:
        """What waits to be sent on a site, with the time it was queued."""
        with self.reading() as tx:
            return [(r["queued_at"], outbox.outgoing(r)) for r in outbox.of_site(tx, site)]

    def sent(self, site: str, row: int, external_id: str) -> None:
        self._mark(site, row, state="sent", external_id=external_id, text=outbox.text_once_settled())

    def not_sent(self, site: str, row: int, next_at: datetime | None) -> None:
        """Try again at ``next_at``; None gives it up."""
        given_up = {"state": "lost", "text": outbox.text_once_settled()}
        values = given_up if next_at is None else {"next_at": next_at}
        self._mark(site, row, tries=t.outbox.c.tries + 1, **values)

    def hurry(self, channels: Sequence[str], now: datetime) -> None:
        """What waits on these channels for its next try is due now."""
        with self.engine.begin() as tx:
            outbox.hurry(tx, channels, now)

    def tries(self, site: str, row: int) -> int:
        with self.reading() as tx:
            return outbox.tries(tx, site, row)

    def _mark(self, site: str, row: int, **values: Any) -> None:
        with self.engine.begin() as tx:
            outbox.mark(tx, site, row, **values)

    # --- wakes ------------------------------------------------------------------------------------------------------

    def next_wake(self) -> tuple[str, datetime] | None:
        """The site that wants to be woken first, and when."""
        with self.reading() as tx:
            row = tx.execute(sa.select(t.wakes.c.site, t.wakes.c.due_at).order_by(t.wakes.c.due_at).limit(1)).first()
        return (row.site, row.due_at) if row else None

    def put_off(self, site: str, now: datetime, later: datetime) -> None:
        """What was due on a site by now is looked at again later."""
        w = t.wakes
        with self.engine.begin() as tx:
            tx.execute(w.update().where(w.c.site == site, w.c.due_at <= now).values(due_at=later))
