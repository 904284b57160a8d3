"""Operation: backups of a running log, the doctor's words, metrics and health, logs that cannot be forged."""

import json
import os
import random
import re
import socket
import stat
import subprocess
import sys
import tarfile
import threading
import urllib.error
import urllib.request
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import structlog
from typer.testing import CliRunner

from sitebot import backup, operation
from sitebot.demo import HERE
from sitebot.doctor import examine
from sitebot.errors import DataError
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.message import Incoming, Media
from sitebot.metrics import Metrics, serve
from sitebot.site import read_site_file
from sitebot.stage import Stage
from tests.reports.photography import jpeg

START = datetime(2026, 4, 14, 13, 30, tzinfo=UTC)


def filled(url, key, count=6):
    stage = Stage(read_site_file(HERE / "site.toml"), START, Journal.open(url, key))
    for n in range(count):
        stage.say("Tobin", f"1 butt ring wall A, {350 + n} F")
        stage.now += timedelta(minutes=1)
    return stage


@pytest.fixture
def place(database, tmp_path, request):
    """A database with its key, and an empty one of the same kind to restore to."""
    if database.startswith("sqlite"):
        yield database, tmp_path / "log.key", f"sqlite:///{tmp_path / 'restored.db'}", tmp_path / "restored.key"
        return
    server = request.getfixturevalue("postgres_server")
    if server.bin:
        request.getfixturevalue("monkeypatch").setenv("SITEBOT_PG_BIN", str(server.bin))
    again = server.new()
    yield database, tmp_path / "log.key", again, tmp_path / "restored.key"
    server.drop(again)


# --- backup and restore ---------------------------------------------------------------------------------------------


def test_a_restored_copy_passes_the_check(place, tmp_path):
    """A backup restored elsewhere has the same heads, passes the check and goes on from there."""
    url, key, again, key_again = place
    stage = filled(url, key)
    backup.back_up(stage.journal, tmp_path / "b.tar.gz")
    heads = stage.journal.heads()
    stage.journal.close()
    assert backup.restore(tmp_path / "b.tar.gz", again, key_again) == []
    restored = Stage(read_site_file(HERE / "site.toml"), stage.now, Journal.open(again, key_again))
    assert restored.journal.heads() == heads
    restored.say("Tobin", "1 butt ring wall B")
    assert list(check(restored.journal, "site")) == []
    with pytest.raises(Exception, match="only grow"), restored.journal.engine.begin() as tx:
        tx.exec_driver_sql("DELETE FROM entries")
    restored.journal.close()


def test_photos_come_back_with_the_log(place, tmp_path):
    """On either database: the restored copy holds each original byte for byte, beside its log or its key."""
    url, key, again, key_again = place
    stage = filled(url, key, 1)
    data = jpeg(noise=True, gps=True)
    stage.say("Tobin", "1 butt ring wall B", media=(Media("a.jpg", "image/jpeg", data),))
    backup.back_up(stage.journal, tmp_path / "b.tar.gz")
    stage.journal.close()
    assert backup.restore(tmp_path / "b.tar.gz", again, key_again) == []
    restored = Journal.open(again, key_again)
    with restored.log("site") as log:
        [kept] = log.photos()
    assert kept.numbers == (2,)
    assert restored.photos.path != stage.journal.photos.path
    assert restored.photos.read(kept.sha256) == data
    restored.close()


def test_a_backup_while_messages_are_answered_is_one_state(place, tmp_path):
    """Backups made while somebody reports are each whole: the check finds nothing."""
    url, key, again, key_again = place
    stage = filled(url, key, 1)
    done = threading.Event()

    def report():
        n = 0
        while not done.is_set():
            stage.say("Tobin", f"1 butt ring wall A, {n} minutes later, {300 + n % 90} F")
            stage.now += timedelta(minutes=2)
            n += 1

    reporting = threading.Thread(target=report)
    reporting.start()
    other = Journal.open(url, key)
    for n in range(3):
        backup.back_up(other, tmp_path / f"{n}.tar.gz")
    done.set()
    reporting.join()
    assert backup.restore(tmp_path / "2.tar.gz", again, key_again) == []
    other.close()
    stage.journal.close()


def test_a_backup_is_for_its_owner_alone(tmp_path):
    """It holds names and the key: mode 600."""
    stage = filled(f"sqlite:///{tmp_path / 'log.db'}", None)
    backup.back_up(stage.journal, tmp_path / "b.tar.gz")
    assert stat.S_IMODE((tmp_path / "b.tar.gz").stat().st_mode) == 0o600
    stage.journal.close()


def test_nothing_is_overwritten_by_a_restore(place, tmp_path):
    """A place that holds a log already is left as it is."""
    url, key, _, _ = place
    stage = filled(url, key)
    backup.back_up(stage.journal, tmp_path / "b.tar.gz")
    heads = stage.journal.heads()
    with pytest.raises(backup.BackupError, match="already"):
        backup.restore(tmp_path / "b.tar.gz", url, tmp_path / "another.key")
    assert stage.journal.heads() == heads
    stage.journal.close()


@pytest.mark.parametrize("seed", range(8))
def test_a_damaged_backup_is_refused_or_found(tmp_path, seed):
    """Bytes changed in a backup: the restore refuses it, or the check names the fault."""
    stage = filled(f"sqlite:///{tmp_path / 'log.db'}", None)
    backup.back_up(stage.journal, tmp_path / "b.tar.gz")
    stage.journal.close()
    dice = random.Random(seed)
    data = bytearray((tmp_path / "b.tar.gz").read_bytes())
    for _ in range(20):
        data[dice.randrange(20, len(data))] ^= dice.randrange(1, 256)
    (tmp_path / "b.tar.gz").write_bytes(data)
    try:
        found = backup.restore(tmp_path / "b.tar.gz", f"sqlite:///{tmp_path / 'r.db'}", tmp_path / "r.key")
    except backup.BackupError as error:
        found = [str(error)]
    assert found


def test_a_backup_writes_nowhere_else(tmp_path):
    """Names inside a backup that lead out of its folder are passed over."""
    with tarfile.open(tmp_path / "b.tar.gz", "w:gz") as tar:
        (tmp_path / "x").write_text("x")
        tar.add(tmp_path / "x", arcname="../../escaped")
    with pytest.raises(backup.BackupError, match="not a backup"):
        backup.restore(tmp_path / "b.tar.gz", f"sqlite:///{tmp_path / 'r.db'}")
    assert not list(tmp_path.parent.glob("escaped"))


# --- doctor ---------------------------------------------------------------------------------------------------------


def faults(*args, **kwargs):
    return {f.what: f.fault for f in examine(*args, **kwargs) if f.fault}


def test_the_doctor_finds_nothing_on_a_sound_machine(place):
    """Database, key, clock and modes in order: not a word."""
    url, key, _, _ = place
    stage = filled(url, key)
    stage.sent()
    stage.journal.close()
    assert faults(url, key, {"sms": {}}, ()) == {}


def test_the_doctor_says_what_is_wrong_and_what_to_do(tmp_path):
    """Each fault in plain words with its remedy."""
    url, key = f"sqlite:///{tmp_path / 'log.db'}", tmp_path / "log.key"
    assert "sitebot site load" in faults(url, key, {}, ())["database"]
    assert "Add [sms]" in faults(url, key, {}, ())["channels"]
    stage = filled(url, key)
    stage.journal.close()
    (tmp_path / "log.db").chmod(0o644)
    assert f"chmod 600 {tmp_path / 'log.db'}" in faults(url, key, {"sms": {}}, ())[f"file {tmp_path / 'log.db'}"]
    early = faults(url, key, {"sms": {}}, (), START - timedelta(days=3))
    assert "Set" in early["clock"]
    key.unlink()
    assert "never make a new one" in faults(url, key, {"sms": {}}, ())["key"]
    assert (
        "mend its address" in faults("postgresql+psycopg://x@127.0.0.1:1/none", _key(key), {"sms": {}}, ())["database"]
    )


def _key(path):
    path.write_text("ab" * 32)
    path.chmod(0o600)
    return path


def test_the_doctor_tells_of_what_waits(tmp_path):
    """Messages that are not sent for long, and such as were set aside, are named."""
    url, key = f"sqlite:///{tmp_path / 'log.db'}", tmp_path / "log.key"
    stage = filled(url, key)
    for n in range(30):
        stage.journal.keep("site", [Incoming("sms", f"s{n}", "+15005550006", f"buy {n}", stage.now)])
    found = faults(url, key, {"sms": {}}, ())
    assert "messages wait" in found["outbox"]
    assert "10 messages came in floods" in found["inbox"]
    stage.journal.close()


def test_every_file_of_a_log_is_for_its_owner_alone(tmp_path):
    """Database, its companions, key and lock: nobody else reads them, whatever the umask."""
    before = os.umask(0)
    try:
        stage = filled(f"sqlite:///{tmp_path / 'log.db'}", None)
        stage.journal.take_lease("site", "sms", "w", 1)
        modes = {p.name: stat.S_IMODE(p.stat().st_mode) for p in tmp_path.iterdir()}
        stage.journal.close()
    finally:
        os.umask(before)
    assert {"log.db", "log.key", "log.db-wal", "log.lock"} <= set(modes)
    assert all(mode & 0o077 == 0 for mode in modes.values()), modes


# --- metrics and health ---------------------------------------------------------------------------------------------


def fetch(server, path):
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{server.server_port}{path}", timeout=5) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()


def test_metrics_and_health_on_the_loopback_address():
    """Figures for Prometheus, and health that turns when the loop hangs or the database is away."""
    now = [100.0]
    metrics = Metrics(lambda: now[0])
    server = serve(metrics, "127.0.0.1", 0)
    metrics.kept.labels("sms").inc(3)
    status, text = fetch(server, "/metrics")
    assert status == 200
    assert 'sitebot_messages_kept_total{channel="sms"} 3.0' in text
    assert fetch(server, "/health") == (200, "well\n")
    now[0] += 20
    assert fetch(server, "/health") == (503, "the program hangs\n")
    now[0] += 40
    metrics.alive()
    assert fetch(server, "/health") == (503, "the database cannot be used\n")
    assert fetch(server, "/etc/passwd")[0] == 404
    server.shutdown()


# --- logs -----------------------------------------------------------------------------------------------------------


@pytest.fixture
def lines():
    """What was logged, as a process of its own writes it."""

    def of(code):
        done = subprocess.run(
            [sys.executable, "-c", f"import structlog, logging\nfrom sitebot import logs\nlogs.set_up()\n{code}"],
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stderr.splitlines()

    return of


FORGED = 'x\n{"event": "all is well", "level": "info"}\r\n\x1b[2J\u2028{"event": "2"}'


def test_a_text_cannot_forge_a_line(lines):
    """Line breaks, terminal codes and braces of a text stay inside their one JSON line."""
    written = lines(
        f"structlog.get_logger().info('refused', reason={FORGED!r})\nlogging.getLogger('nio').error({FORGED!r})"
    )
    assert len(written) == 2
    assert [json.loads(line)["event"] for line in written] == ["refused", FORGED]
    assert "\x1b" not in "".join(written)


def test_no_secret_gets_into_a_line(lines):
    """Values of secret keys, passwords in addresses, and what stands in a traceback's frames are left out."""
    code = """
password = "geheim99"
structlog.get_logger().info("x", access_token="geheim99", url="postgresql://u:geheim99@h/d", sms_password="geheim99")
try:
    raise ValueError("at postgresql+psycopg://u:geheim99@h/d")
except ValueError:
    structlog.get_logger().exception("fell over")
    logging.getLogger("lib").exception("fell over")
"""
    written = lines(code)
    assert len(written) == 3
    assert "geheim99" not in "\n".join(written)
    assert "Traceback" in written[1]


def test_no_text_of_a_person_is_logged(tmp_path):
    """A message that makes us fail is named by its row; neither its text nor a name nor a number is logged."""
    import asyncio

    from sitebot.running import Running

    stage = filled(f"sqlite:///{tmp_path / 'log.db'}", None, 0)
    stage.journal.keep("site", [Incoming("sms", "1", stage.addresses["Tobin"], "my secret text", stage.now)])

    def broken(text, context):
        raise RuntimeError

    stage.app.reader = broken
    with structlog.testing.capture_logs() as captured:
        running = Running(stage.app, {}, "site")
        asyncio.run(running._answer_site("site"))
    stage.journal.close()
    assert captured[0]["event"] == "not answered"
    assert not re.search("secret text|Tobin|555", str([{**c, "exc_info": ""} for c in captured]))


# --- commands -------------------------------------------------------------------------------------------------------


@pytest.fixture
def at(tmp_path, monkeypatch):
    """The commands with settings in a folder of their own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SITEBOT_DATABASE", f"sqlite:///{tmp_path / 'log.db'}")

    def call(*words):
        return CliRunner().invoke(operation.app, words)

    return call


def test_backup_restore_and_doctor_from_the_command_line(at, tmp_path):
    """The commands do what they say and end with 0 only when all is well."""
    filled(f"sqlite:///{tmp_path / 'log.db'}", None).journal.close()
    assert "entries" in at("backup", "b.tar.gz").output
    assert "the log is whole" in at("restore", "b.tar.gz", "--to", f"sqlite:///{tmp_path / 'r.db'}").output
    done = at("doctor")
    assert done.exit_code == 1
    assert "no  channels" in done.output
    assert "ok  clock" in done.output


def test_run_without_a_channel_says_what_to_add(at, tmp_path):
    """Nobody could reach it: an error of ours with the remedy."""
    done = at("run")
    assert isinstance(done.exception, DataError)
    assert "Add [sms] or [matrix]" in str(done.exception)


def test_a_wrong_setting_is_named_without_its_value(at, tmp_path):
    """A wrong key of a channel is named by its path; a secret beside it is not shown."""
    Path("sitebot.toml").write_text(
        '[sms]\nnmae = "x"\n[sms.line]\nkind = "smpp"\nhost = "h"\npassword = "geheim99geheim"\n'
    )
    done = at("run")
    assert "settings: sms." in str(done.exception)
    assert "nmae" in str(done.exception)
    assert "geheim" not in str(done.exception)


def test_it_tells_systemd_when_it_is_ready(tmp_path, monkeypatch):
    """READY=1 and the watchdog's sign go to the socket that systemd names."""
    from sitebot.running import notify

    path = str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as wire:
        wire.bind(path)
        monkeypatch.setenv("NOTIFY_SOCKET", path)
        notify("READY=1")
        assert wire.recv(100) == b"READY=1"
