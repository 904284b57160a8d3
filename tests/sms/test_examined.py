"""What the doctor says of the modem line, on a real daemon's tables."""

from datetime import UTC, datetime, timedelta

import pytest

from sitebot.channels.sms.examined import modem
from sitebot.doctor import examine
from tests.sms.daemon import until

NOW = datetime.now(UTC)


def faults(daemon):
    return {what: fault for what, fault in modem(daemon.smsdrc) if fault}


@pytest.fixture
def beating(dummy):
    """The daemon, once it has said that it lives."""
    beat = "SELECT count(*) FROM phones"
    until(lambda: dummy.daemon.engine.connect().exec_driver_sql(beat).scalar(), 15, "a sign of life")
    return dummy.daemon


def say(daemon, statement, *values):
    with daemon.engine.begin() as tx:
        tx.exec_driver_sql(statement, values)


def test_a_living_daemon_has_no_fault(beating):
    """A daemon that beats and has sent everything: nothing to do; the doctor asks it by the settings."""
    say(beating, "UPDATE phones SET Signal = 60")
    assert faults(beating) == {}
    settings = {"sms": {"line": {"smsdrc": str(beating.smsdrc)}}}
    assert "modem daemon" in [f.what for f in examine("sqlite:///none.db", None, settings, ()) if not f.fault]


def test_a_daemon_that_beats_no_more_is_named_with_its_remedy(beating):
    """Ten minutes without a sign: restart, and the modem pulled out."""
    beating.stop()
    say(beating, "UPDATE phones SET UpdatedInDB = datetime('now', '-10 minutes')")
    assert "10 min" in faults(beating)["modem daemon"]
    assert "systemctl restart sitebot-smsd" in faults(beating)["modem daemon"]


def test_a_weak_signal_and_a_queue_that_stands_are_named(beating):
    """8 % of signal, and a text that has waited for an hour."""
    beating.stop()
    say(beating, "UPDATE phones SET Signal = 8")
    old = (datetime.now(UTC) - timedelta(hours=1)).strftime("%Y-%m-%d %H:%M:%S")
    columns = "SendingDateTime, DestinationNumber, TextDecoded, CreatorID"
    say(beating, f"INSERT INTO outbox ({columns}) VALUES (?, '+1', 'x', 'x')", old)
    found = faults(beating)
    assert "window" in found["modem signal"]
    assert "SIM" in found["modem queue"]


def test_a_line_without_its_daemon_says_where_to_look(tmp_path):
    """No configuration, or no tables: what to do stands in the answer."""
    assert "deploy/sms/smsdrc" in dict(modem(tmp_path / "smsdrc"))["modem daemon"]
    (tmp_path / "smsdrc").write_text(
        f"[smsd]\nservice = sql\ndriver = sqlite3\ndbdir = {tmp_path}/\ndatabase = none.db\n"
    )
    assert "deploy/sms/README.md" in dict(modem(tmp_path / "smsdrc"))["modem daemon"]
