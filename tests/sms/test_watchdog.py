"""The watchdog on a real gammu-smsd: it ends what is wedged, starts what has died, stops when told."""

import threading
from pathlib import Path

import pytest

from sitebot.channels.sms import smsd
from sitebot.channels.sms.watchdog import Complaints, Pulse, Watchdog
from sitebot.errors import DataError
from tests.sms.conftest import need_daemon
from tests.sms.daemon import Daemon, DummyPhone, Modem, until
from tests.sms.office import AMARO, Office, texted
from tests.sms.office import until as later
from tests.sms.test_modem import line_on

DEPLOY = Path(__file__).parents[2] / "deploy" / "sms"


def test_pulse():
    """A beat that does not change for the limit is gone; one that cannot be read is not the daemon's fault."""
    pulse = Pulse(10, now=0)
    assert not pulse.is_gone("a", 9)
    assert not pulse.is_gone("a", 19)
    assert pulse.is_gone("a", 19.1)
    assert not pulse.is_gone("b", 20)
    assert not pulse.is_gone(None, 29)
    assert not pulse.is_gone("b", 38)
    assert pulse.is_gone("b", 40)


@pytest.fixture
def watched(tmp_path):
    """A watchdog with its daemon and the pseudo terminal's modem."""
    need_daemon()
    modem = Modem(tmp_path)
    modem.daemon = Daemon(tmp_path, modem.section, statusfrequency=1)
    modem.watchdog = Watchdog(modem.daemon.smsdrc, limit_s=6)
    thread = threading.Thread(target=modem.watchdog.run)
    thread.start()
    yield modem.ready()
    modem.watchdog.stop()
    thread.join(15)
    assert not thread.is_alive()
    assert modem.watchdog.process.poll() is not None
    modem.close()


async def test_wedged_daemon_is_started_anew(watched):
    """A modem that swallows one answer wedges the daemon for ever; it is killed, and texts go and come again."""
    office = Office()
    async with office.open(line_on(watched)) as channel:
        watched.order("set", fail=["swallow"])
        await channel.send(texted(AMARO, "se atora"))
        await later(lambda: watched.watchdog.kills == 1, 25, "kill")
        await channel.send(texted(AMARO, "sigue", "k2"))
        await later(lambda: watched.on_air()[-1]["text"] == "sigue", 25, "sending on")
        watched.receive(AMARO, "1 union")
        await later(lambda: office.texts == ["1 union"], 10)
    assert {s["text"] for s in watched.on_air()} == {"se atora", "sigue"}
    assert watched.watchdog.starts == 2


async def test_modem_that_was_unplugged_is_found_again(watched):
    """The daemon writes on to the device that is gone and its heart beats; it is killed, and the text goes out."""
    office = Office()
    async with office.open(line_on(watched)) as channel:
        watched.kill()
        watched.switch_on()
        await channel.send(texted(AMARO, "otra vez"))
        await later(lambda: watched.watchdog.kills == 1, 40, "kill")
        await later(lambda: [s["text"] for s in watched.on_air()] == ["otra vez"], 40, "sending on")


def test_complaints(tmp_path):
    """Without a pause for the limit: stuck. A pause, another line or a rotated log begins anew or goes on."""
    log = tmp_path / "smsd.log"
    log.write_bytes(b"Error getting SMS status: from before\n")
    complaints = Complaints(log, 6)

    def says(line, now):
        with log.open("ab") as file:
            file.write(line + b"\n")
        return complaints.is_stuck(now)

    assert [says(b"Error getting SMS status: x", now) for now in (1, 4, 7)] == [False] * 3
    assert says(b"Inserting phone info", 8) is False
    log.write_bytes(b"")
    assert says(b"Error getting SMS status: x", 9) is True
    assert says(b"ok", 20) is False
    assert says(b"Error getting SMS status: x", 21) is False
    assert Complaints(None, 6).is_stuck(99) is False


def test_dead_daemon_is_started_anew(tmp_path):
    """One that was killed runs again at once; a healthy one is left alone."""
    need_daemon()
    phone = DummyPhone(tmp_path)
    daemon = Daemon(tmp_path, phone.section, statusfrequency=1)
    watchdog = Watchdog(daemon.smsdrc, limit_s=3)
    thread = threading.Thread(target=watchdog.run)
    thread.start()
    try:
        until(lambda: watchdog.process and daemon.log.exists())
        watchdog.process.kill()
        until(lambda: watchdog.starts == 2 and watchdog.process.poll() is None)
    finally:
        watchdog.stop()
        thread.join(15)
    assert watchdog.kills == 0


def test_without_heartbeat_it_does_not_start(tmp_path):
    """A configuration that hides whether the daemon lives is a fault, named with its remedy."""
    daemon = Daemon(tmp_path, DummyPhone(tmp_path).section, statusfrequency=0) if smsd.SCHEMAS.exists() else None
    if daemon is None:
        need_daemon()
    with pytest.raises(DataError, match=r"statusfrequency is 0.*Write 10"):
        Watchdog(daemon.smsdrc)


def test_faults_of_the_configuration(tmp_path):
    """File, key and remedy."""
    path = tmp_path / "smsdrc"
    with pytest.raises(DataError, match="no usable"):
        smsd.read_smsdrc(path)
    path.write_text("[smsd]\nservice = files\n")
    with pytest.raises(DataError, match="service = sql"):
        smsd.read_smsdrc(path)
    path.write_text("[smsd]\nservice = sql\ndriver = odbc\n")
    with pytest.raises(DataError, match="'odbc' is not known"):
        smsd.read_smsdrc(path)


def test_where_postgresql_is(tmp_path):
    """Host and port in one value, as the daemon has them."""
    path = tmp_path / "smsdrc"
    path.write_text(
        "[smsd]\nservice = sql\ndriver = native_pgsql\nhost = 10.1.2.3:5433\nuser = u\npassword = p%w\ndatabase = d\n"
    )
    url = smsd.read_smsdrc(path).url
    assert (url.host, url.port, url.username, url.password, url.database) == ("10.1.2.3", 5433, "u", "p%w", "d")


def test_configuration_in_deploy_avoids_the_traps():
    """No hook (a sender's name reached the shell through one), own joining, heartbeat, reports apart, UTC."""
    text = (DEPLOY / "smsdrc").read_text()
    keys = {line.split("=")[0].strip().lower() for line in text.splitlines() if not line.startswith("#")}
    assert not [k for k in keys if k.startswith("runon")]
    config = smsd.read_smsdrc(DEPLOY / "smsdrc")
    assert (config.phone, config.status_s) == ("site1", 10)
    for line in ("multiparttimeout = 3", "deliveryreport = log", "service = sql"):
        assert line in text.splitlines()
    unit = (DEPLOY / "sitebot-smsd.service").read_text()
    assert "TZ=UTC" in unit
    assert "sitebot.channels.sms.watchdog" in unit
