"""The tables of gammu-smsd and its configuration file: where they are, how they are prepared, their columns.

Statements and rules of sending are in modem.py. Run as a program it prepares the daemon's database:
``python -m sitebot.channels.sms.smsd /etc/sitebot/smsdrc``.
"""

from __future__ import annotations

import configparser
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from sitebot.errors import DataError

#: The schema that came with the daemon; it refuses one of another version.
SCHEMAS = Path("/usr/share/doc/gammu-smsd/examples")

_tables = sa.MetaData()
inbox = sa.Table(
    "inbox",
    _tables,
    sa.Column("ID", sa.Integer, primary_key=True),
    sa.Column("ReceivingDateTime", sa.String),
    sa.Column("Text", sa.Text),
    sa.Column("SenderNumber", sa.String),
    sa.Column("Coding", sa.String),
    sa.Column("UDH", sa.Text),
    sa.Column("RecipientID", sa.Text),
    sa.Column("Processed", sa.String),
)
outbox = sa.Table(
    "outbox",
    _tables,
    sa.Column("ID", sa.Integer, primary_key=True),
    sa.Column("SendingDateTime", sa.String),
    sa.Column("SendingTimeOut", sa.String),
    sa.Column("DestinationNumber", sa.String),
    sa.Column("Coding", sa.String),
    sa.Column("UDH", sa.Text),
    sa.Column("Class", sa.Integer),
    sa.Column("TextDecoded", sa.Text),
    sa.Column("MultiPart", sa.String),
    sa.Column("SenderID", sa.String),
    sa.Column("DeliveryReport", sa.String),
    sa.Column("CreatorID", sa.Text),
    sa.Column("Priority", sa.Integer),
)
outbox_multipart = sa.Table(
    "outbox_multipart",
    _tables,
    sa.Column("ID", sa.Integer, primary_key=True),
    sa.Column("SequencePosition", sa.Integer, primary_key=True),
    sa.Column("Coding", sa.String),
    sa.Column("UDH", sa.Text),
    sa.Column("Class", sa.Integer),
    sa.Column("TextDecoded", sa.Text),
)
sentitems = sa.Table(
    "sentitems",
    _tables,
    sa.Column("ID", sa.Integer, primary_key=True),
    sa.Column("SequencePosition", sa.Integer, primary_key=True),
    sa.Column("CreatorID", sa.Text),
    sa.Column("SendingDateTime", sa.String),
    sa.Column("DestinationNumber", sa.String),
    sa.Column("Status", sa.String),
    sa.Column("StatusError", sa.Integer),
    sa.Column("StatusCode", sa.Integer),
)
#: Where numbers stand.
_NUMBERS = (
    (inbox, inbox.c.SenderNumber),
    (outbox, outbox.c.DestinationNumber),
    (sentitems, sentitems.c.DestinationNumber),
)
phones = sa.Table("phones", _tables, sa.Column("IMEI", sa.Text, primary_key=True), sa.Column("UpdatedInDB", sa.String))


@dataclass(frozen=True, slots=True)
class Smsdrc:
    """What we need of the daemon's configuration."""

    url: sa.URL
    phone: str
    #: How often the daemon says that it lives [s]; 0: never.
    status_s: int
    #: Where it writes what goes wrong; None: nowhere that we could read.
    log: Path | None = None


def read_smsdrc(path: Path) -> Smsdrc:
    """The configuration at ``path``; DataError names file, key and remedy."""
    parser = configparser.RawConfigParser(strict=False)
    try:
        parser.read_string(path.read_text(encoding="utf-8"))
        smsd = {key.lower(): value for key, value in parser["smsd"].items()}
    except (OSError, configparser.Error, KeyError, UnicodeDecodeError) as error:
        raise DataError(f"{path}: no usable gammu-smsd configuration ({error}). See deploy/sms/smsdrc.") from error
    if smsd.get("service", "").lower() != "sql":
        raise DataError(f"{path}: smsd.service is not sql. Write: service = sql")
    log = Path(smsd["logfile"]) if smsd.get("logfile", "").startswith("/") else None
    return Smsdrc(_url(path, smsd), smsd.get("phoneid", ""), int(smsd.get("statusfrequency", "60")), log)


def _url(path: Path, smsd: dict[str, str]) -> sa.URL:
    driver = smsd.get("driver", "")
    if driver == "sqlite3":
        return sa.URL.create("sqlite", database=str(Path(smsd.get("dbdir", "./")) / smsd.get("database", "sms")))
    if driver in ("native_pgsql", "pgsql"):
        host, _, port = smsd.get("host", "localhost").partition(":")
        return sa.URL.create(
            "postgresql+psycopg",
            username=smsd.get("user"),
            password=smsd.get("password"),
            host=host,
            port=int(port) if port else None,
            database=smsd.get("database"),
        )
    raise DataError(f"{path}: smsd.driver {driver!r} is not known. Write sqlite3 or native_pgsql.")


def open_engine(url: sa.URL) -> sa.Engine:
    """An engine on the daemon's tables; a locked SQLite file is waited for."""
    if url.get_backend_name() == "sqlite":
        return sa.create_engine(url, connect_args={"check_same_thread": False, "timeout": 15})
    return sa.create_engine(url, pool_pre_ping=True)


def prepare(config: Smsdrc, schemas: Path = SCHEMAS) -> bool:
    """Lay out the daemon's tables from its own schema where there are none; was that needed?

    SQLite is put into WAL mode, or daemon and channel lock each other out.
    """
    engine = open_engine(config.url)
    is_sqlite = engine.dialect.name == "sqlite"
    schema = schemas / ("sqlite.sql" if is_sqlite else "pgsql.sql")
    if is_sqlite and config.url.database:
        Path(config.url.database).parent.mkdir(parents=True, exist_ok=True)
    try:
        if sa.inspect(engine).has_table("gammu"):
            return False
        script = schema.read_text(encoding="utf-8")
        with engine.connect() as connection:
            _run(connection, script, is_sqlite)
    except OSError as error:
        raise DataError(
            f"{schema}: cannot be read ({error.strerror}). Install gammu-smsd with its documents."
        ) from error
    finally:
        engine.dispose()
    return True


def _run(connection: sa.Connection, script: str, is_sqlite: bool) -> None:
    raw = connection.connection.driver_connection
    assert raw is not None
    if is_sqlite:
        raw.execute("PRAGMA journal_mode=WAL")
        raw.executescript(script)
    else:
        # Every PostgreSQL since 9.0 has the language, and refuses to have it made again.
        raw.execute(script.replace("CREATE LANGUAGE plpgsql;", ""))
    for table in (outbox, sentitems):
        # The daemon has no use for it, we look for our own ref all the time.
        raw.execute(f'CREATE INDEX {table.name}_creator ON {table.name} ("CreatorID")')
    raw.commit()


def purge(engine: sa.Engine, before: datetime) -> int:
    """Delete what was read or sent before a time, so that texts and numbers do not stay for ever; how many rows."""
    cutoff: sa.ColumnElement[str] = sa.literal_column(f"'{before.astimezone(UTC):%Y-%m-%d %H:%M:%S}'")
    read = inbox.c.Processed == (sa.literal_column("true") if engine.dialect.name == "postgresql" else "true")
    with engine.begin() as tx:
        gone = tx.execute(inbox.delete().where(read, inbox.c.ReceivingDateTime < cutoff)).rowcount
        return gone + tx.execute(sentitems.delete().where(sentitems.c.SendingDateTime < cutoff)).rowcount


def forget(engine: sa.Engine, is_gone: Callable[[str], bool]) -> int:
    """Delete every text from or to numbers that are gone, read or not, sent or not; how many rows."""
    with engine.begin() as tx:
        if engine.dialect.name == "sqlite":
            tx.exec_driver_sql("PRAGMA secure_delete=ON")  # what is deleted is overwritten
        done = 0
        for table, number in _NUMBERS:
            found = [n for n in tx.execute(sa.select(number).distinct()).scalars() if n and is_gone(n)]
            if table is outbox:
                heads = sa.select(outbox.c.ID).where(number.in_(found))
                done += tx.execute(outbox_multipart.delete().where(outbox_multipart.c.ID.in_(heads))).rowcount
            done += tx.execute(table.delete().where(number.in_(found))).rowcount
    if engine.dialect.name == "sqlite":
        with engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    return done


def release(engine: sa.Engine, phone: str) -> None:
    """Unlock what a daemon that died was sending; else its rows stay locked for a minute. Only while none runs."""
    with engine.begin() as tx:
        ours = outbox.c.SenderID == phone
        tx.execute(outbox.update().where(ours).values(SendingTimeOut=sa.literal_column("'2000-01-01 00:00:00'")))


if __name__ == "__main__":
    made = prepare(read_smsdrc(Path(sys.argv[1])))
    print("tables made" if made else "tables are there already")  # noqa: T201
