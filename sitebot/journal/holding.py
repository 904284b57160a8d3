"""Who does what, where several processes share a database: leases of channel accounts, and a site's messages in order.

On a server a lease is counted by the database's clock and renewed often; who stops renewing loses it, whether he was
killed, hangs or was cut off. A file on a laptop has a lock of the system beside it. Nothing is sent or answered here.
"""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from sitebot.journal import tables as t
from sitebot.journal.engine import lock

#: A site's messages are answered by one process at a time, in order; the lock of a turn is 0, of the inbox 1.
_TRY = sa.text("SELECT pg_try_advisory_lock(hashtextextended(:name, 2))")
_LEAVE = sa.text("SELECT pg_advisory_unlock(hashtextextended(:name, 2))")


def take(tx: sa.Connection, site: str, channel: str, holder: str, seconds: float) -> bool:
    """Take or renew the lease of a channel account; False where another process holds it."""
    ours, now = t.leases, _now(tx)
    free = sa.or_(ours.c.holder == holder, ours.c.until < now)
    same = sa.and_(ours.c.site == site, ours.c.channel == channel)
    if tx.execute(ours.update().where(same, free).values(holder=holder, until=now + seconds)).rowcount:
        return True
    # Two that come first at the same moment: one of them waits here and then finds the other's row.
    lock(tx, f"{site} {channel}", 3)
    if tx.execute(sa.select(ours.c.holder).where(same)).first():
        return False
    tx.execute(ours.insert().values(site=site, channel=channel, holder=holder, until=now + seconds))
    return True


class FileLease:
    """The one lease of a database in a file: held with the process, let go by the system when it dies."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file: int | None = None

    def take(self) -> bool:
        if self._file is not None:
            return True
        file = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(file)
            return False
        self._file = file
        return True

    def give_back(self) -> None:
        if self._file is not None:
            os.close(self._file)
            self._file = None


def give_back(tx: sa.Connection, site: str, channel: str, holder: str) -> None:
    """Let another process have it at once."""
    ours = t.leases
    tx.execute(ours.delete().where(ours.c.site == site, ours.c.channel == channel, ours.c.holder == holder))


def holders(tx: sa.Connection) -> list[tuple[str, str, float]]:
    """Channel, holder and the seconds left of each lease that holds."""
    ours, now = t.leases, _now(tx)
    query = sa.select(ours.c.channel, ours.c.holder, (ours.c.until - now).label("left")).where(ours.c.until >= now)
    return [(r.channel, r.holder, float(r.left)) for r in tx.execute(query.order_by(ours.c.channel))]


def clock(tx: sa.Connection) -> float:
    """Seconds since 1970 by the database's clock."""
    return float(tx.execute(sa.select(_now(tx))).scalar_one())


def _now(tx: sa.Connection) -> sa.ColumnElement[float]:
    if tx.dialect.name == "postgresql":
        return sa.literal_column("extract(epoch from clock_timestamp())::float8", sa.Double())
    return sa.literal(time.time(), sa.Double())


@contextmanager
def site_held(engine: sa.Engine, site: str) -> Iterator[bool]:
    """True while nobody else answers this site's messages; killed processes let go with their connection."""
    if engine.dialect.name != "postgresql":
        yield True
        return
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        held = bool(connection.execute(_TRY, {"name": site}).scalar())
        try:
            yield held
        finally:
            if held:
                connection.execute(_LEAVE, {"name": site})
