"""Opening the database: SQLite for one site's laptop, PostgreSQL for a company. No table and no row is known here.

Whatever fails because the database cannot be reached, read or written now becomes ``DatabaseDown``: wait and try again.
"""

from __future__ import annotations

import os
import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from sitebot.errors import DataError, SitebotError

#: Seconds a writer waits for another one on SQLite.
LOCK_WAIT = 30
#: Said to PostgreSQL at connecting. A process that was stopped in the middle must not hold a site's lock for ever; a
#: machine that lost its power is noticed by keepalives.
POSTGRES = {
    "connect_timeout": 5,
    "application_name": "sitebot",
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "options": "-c idle_in_transaction_session_timeout=60000 -c timezone=UTC -c tcp_keepalives_idle=5 "
    "-c tcp_keepalives_interval=2 -c tcp_keepalives_count=3",
}
#: Classes of SQLSTATE that pass by themselves: connection, rollback by the server, resources, operator, system.
PASSING = ("08", "40", "53", "55", "57", "58")
READ_ONLY = "25006"
#: A database that goes with its connection, and to the disk where it grows long (SQLite, "Temporary databases").
TEMPORARY = "sqlite:///file:?uri=true"


class DatabaseDown(SitebotError):
    """The database cannot be reached, read or written now: locked, full, read-only, restarting."""


class Damaged(SitebotError):
    """The database's file is not what the database wrote."""


def open_engine(url: str) -> sa.Engine:
    """An engine for ``sqlite:///path``, ``sqlite://`` (memory) or ``postgresql+psycopg://...``."""
    engine = _sqlite(url) if url.startswith("sqlite") else _postgres(url)
    sa.event.listen(engine, "handle_error", _translate)
    return engine


def _postgres(url: str) -> sa.Engine:
    return sa.create_engine(url, pool_pre_ping=True, connect_args=POSTGRES, hide_parameters=True)


def _sqlite(url: str) -> sa.Engine:
    in_memory = url in ("sqlite://", "sqlite:///:memory:", TEMPORARY)
    pool: dict[str, Any] = {"poolclass": sa.StaticPool} if in_memory else {}
    connect = {"check_same_thread": False, "timeout": LOCK_WAIT}
    engine = sa.create_engine(url, connect_args=connect, hide_parameters=True, **pool)
    sa.event.listen(engine, "connect", _connected)
    sa.event.listen(engine, "begin", _begun)
    return engine


def _connected(connection: Any, _: object) -> None:
    # The driver's own BEGIN comes too late for reads; we send it ourselves (SQLAlchemy, SQLite dialect notes).
    connection.isolation_level = None
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")


def _begun(connection: sa.Connection) -> None:
    # The write lock first: two messages never number, judge or count against the same state. Reads need no lock.
    reading = connection.get_execution_options().get("sitebot_reading")
    driver: Any = connection.connection.driver_connection
    try:
        driver.execute("BEGIN" if reading else "BEGIN IMMEDIATE")
    except connection.dialect.loaded_dbapi.Error as error:
        raise passed_on(error) from error


def _translate(context: sa.ExceptionContext) -> None:
    error = context.original_exception
    ours = passed_on(error)
    if ours is not error:
        raise ours from error
    if context.is_disconnect:
        raise _down(error) from error


def passed_on(error: BaseException) -> BaseException:
    """A driver's error as we name it, or itself."""
    if any(sign in str(error) for sign in ("malformed", "not a database")):
        return Damaged(f"the log's file is damaged ({error}). Restore the last backup: sitebot restore FILE.")
    state = getattr(error, "sqlstate", None)
    if state is None:
        # Both drivers name their classes as PEP 249 does.
        return (
            _down(error)
            if {"OperationalError", "InterfaceError"} & {c.__name__ for c in type(error).__mro__}
            else error
        )
    return _down(error) if state.startswith(PASSING) or state == READ_ONLY else error


def _down(error: BaseException) -> DatabaseDown:
    return DatabaseDown(f"the database cannot be used now: {str(error).strip()}")


@contextmanager
def reading(engine: sa.Engine) -> Iterator[sa.Connection]:
    """A transaction that only reads: one state of the whole log, and no writer has to wait for it."""
    options: dict[str, Any] = {"sitebot_reading": True}
    if engine.dialect.name == "postgresql":
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    with engine.execution_options(**options).connect() as connection, connection.begin():
        yield connection


def lock(tx: sa.Connection, name: str, purpose: int) -> None:
    """Hold the site's lock until the end of the transaction. SQLite holds the one lock of the file already."""
    if tx.dialect.name == "postgresql":
        tx.execute(_LOCK, {"name": name, "purpose": purpose})


_LOCK = sa.text("SELECT pg_advisory_xact_lock(hashtextextended(:name, :purpose))")


def own_file(url: str) -> Path | None:
    """The file behind a SQLite address; None for memory and for a server."""
    parsed = sa.make_url(url)
    if parsed.get_backend_name() != "sqlite" or not parsed.database or parsed.database.startswith((":", "file:")):
        return None
    return Path(parsed.database)


def server_of(url: str) -> tuple[str, str]:
    """A server's address as its own programs take it, without the password, and the password."""
    parsed = sa.make_url(url)
    bare = parsed.set(drivername="postgresql", password=None)
    return bare.render_as_string(hide_password=False), str(parsed.password or "")


def make_private(path: Path) -> None:
    """An empty file that its owner alone reads; the database's own files beside it take its mode."""
    if not path.exists():
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT, 0o600))


def read_key(path: Path) -> bytes:
    """The signing key at ``path``, made on first use, readable by its owner alone."""
    try:
        text = path.read_text()
    except FileNotFoundError:
        return _new_key(path)
    except OSError as error:
        raise DataError(
            f"{path}: the key cannot be read ({error.strerror}). Give its file to the user of sitebot."
        ) from error
    if not re.fullmatch(r"[0-9a-f]{64}", text.strip()):
        raise DataError(f"{path}: not a key of ours. Restore it from the backup; do not make a new one.")
    return bytes.fromhex(text)


def _new_key(path: Path) -> bytes:
    """Whole or not at all: two processes that start together end with the same key."""
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
        file.write(secrets.token_bytes(32).hex())
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(draft, path)
    except FileExistsError:
        pass
    finally:
        draft.unlink()
    return bytes.fromhex(path.read_text())
