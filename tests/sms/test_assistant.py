"""``sitebot run`` and ``sitebot sms test`` on a real gammu-smsd with its dummy phone, end to end."""

import configparser
import re
import subprocess
from pathlib import Path

import pytest

from tests.sms.assistant import NUMBERS, Assistant
from tests.sms.daemon import until


@pytest.fixture
def assistant(dummy, tmp_path):
    assistant = Assistant(tmp_path, dummy.daemon.smsdrc).start().ready()
    yield assistant
    assistant.stop()


def said_to(dummy, name):
    """What the daemon has sent to somebody, oldest first."""
    query = "SELECT TextDecoded FROM sentitems WHERE DestinationNumber = ? ORDER BY ID, SequencePosition"
    with dummy.daemon.engine.begin() as tx:
        return list(tx.exec_driver_sql(query, (NUMBERS[name],)).scalars())


def answered(dummy, name, pattern):
    """The first match of what somebody gets to read."""
    return until(lambda: re.search(pattern, "\n".join(said_to(dummy, name))), 60, f"{pattern} to {name}")


def test_a_code_goes_round_by_real_texts(dummy, assistant):
    """Report, void, code out, code in: nothing is void before it; no log has the text."""
    dummy.receive(NUMBERS["Tobin"], "3 butts ring wall A")
    answered(dummy, "Tobin", "#1-3")
    dummy.receive(NUMBERS["Wilda"], "void 2")
    code = answered(dummy, "Wilda", r"Send back (\d{4})")[1]
    assert assistant.splices() == {1: "pending", 2: "pending", 3: "pending"}
    dummy.receive(NUMBERS["Amaro"], code)
    answered(dummy, "Amaro", "Ningun codigo")
    dummy.receive(NUMBERS["Wilda"], f"code {code}")
    answered(dummy, "Wilda", "#2 void")
    assert assistant.splices() == {1: "pending", 2: "voided", 3: "pending"}
    logs = dummy.daemon.log.read_text(errors="replace") + (assistant.root / "sitebot.log").read_text()
    assert "Send back" not in logs


def test_the_deployed_daemon_logs_no_texts():
    """From debuglevel 1 on gammu-smsd writes what it sends into its log."""
    config = configparser.ConfigParser()
    config.read(Path(__file__).parents[2] / "deploy" / "sms" / "smsdrc")
    assert config["smsd"]["debuglevel"] == "0"


def tried(assistant, *words):
    command, options = assistant.command("sms", "test", *words)
    return subprocess.run(command, capture_output=True, text=True, timeout=90, **options)


def test_a_test_of_the_line(dummy, tmp_path):
    """The text goes out and its receipt is said; without one, and to what is no number, what to do is said."""
    assistant = Assistant(tmp_path, dummy.daemon.smsdrc)
    dry = tried(assistant, NUMBERS["Wilda"], "--wait", "4")
    assert (dry.returncode, "no receipt came" in dry.stdout) == (0, True), dry.stdout + dry.stderr
    wrong = tried(assistant, "911", "--wait", "4")
    assert (wrong.returncode, "no number" in wrong.stdout) == (1, True), wrong.stdout + wrong.stderr
    assert said_to(dummy, "Wilda")[-1] == "sitebot: this is a test of the line."


def test_a_test_of_a_line_whose_daemon_is_down(dummy, tmp_path):
    """The tables take the text, nobody sends it: that is said, and the command fails."""
    assistant = Assistant(tmp_path, dummy.daemon.smsdrc)
    dummy.daemon.kill()
    tried_ = tried(assistant, NUMBERS["Wilda"], "--wait", "2")
    assert (tried_.returncode, "Is the daemon running" in tried_.stdout) == (1, True), tried_.stdout + tried_.stderr
