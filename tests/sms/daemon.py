"""A real gammu-smsd with one of two phones: its own dummy phone, or the modem of pty_modem.py."""

import json
import os
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

from sitebot.channels.sms import smsd
from sitebot.wording.parts import encoding, parts
from tests.sms import tpdu

HERE = Path(__file__).parent


def until(condition, seconds=15.0, what="it"):
    """The first true value; polled, with a deadline."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if value := condition():
            return value
        time.sleep(0.02)
    raise AssertionError(f"{what} did not happen within {seconds} s")


class Daemon:
    """One gammu-smsd process that a test may stop, kill and start."""

    def __init__(self, root, phone_section, database=None, **options):
        self.root, self.log, self.smsdrc = root, root / "smsd.log", root / "smsdrc"
        values = {
            "service": "sql",
            "logfile": self.log,
            "debuglevel": 0,  # as deployed
            "phoneid": "site1",
            "commtimeout": 1,
            "loopsleep": 1,
            "receivefrequency": 1,
            "multiparttimeout": 1,
            "statusfrequency": 0,
            "sendtimeout": 10,
            "maxretries": 1,
            "retrytimeout": 1,
            "checksecurity": 0,
            "checkbattery": 0,
            "checksignal": 0,
            "checknetwork": 0,
            "deliveryreport": "log",
            **(database or {"driver": "sqlite3", "database": "smsd.db", "dbdir": f"{root}/"}),
            **options,
        }
        lines = [f"{key} = {value}" for key, value in values.items()]
        self.smsdrc.write_text("\n".join(["[gammu]", *phone_section, "logformat = textalldate", "[smsd]", *lines, ""]))
        self.config = smsd.read_smsdrc(self.smsdrc)
        smsd.prepare(self.config)
        self.engine = smsd.open_engine(self.config.url)
        self.process, self.zone = None, "UTC"

    def start(self):
        self.log.unlink(missing_ok=True)
        command = ["gammu-smsd", "-c", str(self.smsdrc)]
        env = os.environ | {"TZ": self.zone, "LC_ALL": "C.UTF-8"}
        self.process = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT)
        until(self._is_up, 15, "start of gammu-smsd")
        return self

    def _is_up(self):
        assert self.process.poll() is None, self.log.read_text()
        return self.log.exists() and "Starting phone communication" in self.log.read_text(errors="replace")

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        if self.process and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                self.kill()  # wedged, it ignores SIGTERM
        self.engine.dispose()

    def rows(self, table):
        with self.engine.begin() as tx:
            return tx.execute(table.select().order_by(table.c.ID)).mappings().all()


def divided(text):
    """The parts of a text as a phone would send them, each with the header behind its length."""
    pieces = parts(text)
    for place, piece in enumerate(pieces, 1):
        yield piece, encoding(text) == "ucs2", (len(pieces), place) if len(pieces) > 1 else None


def in_short_parts(text, size=100):
    """The same in parts that leave room for a longer header."""
    pieces = [text[i : i + size] for i in range(0, len(text), size)]
    return [(piece, False, (len(pieces), place)) for place, piece in enumerate(pieces, 1)]


class DummyPhone:
    """gammu's own: a directory; a text arrives as a backup file. What it sends is thrown away and called sent."""

    def __init__(self, root):
        self.inbox = root / "phone" / "sms" / "1"
        for folder in range(1, 6):
            (root / "phone" / "sms" / str(folder)).mkdir(parents=True)
        self.section = ["model = dummy", "connection = none", f"device = {root / 'phone'}"]
        self.count = 0

    def receive(self, sender, text, ref=0x2F, when=None):
        for piece, ucs2, place in divided(text):
            self.count += 1
            lines = self._backup(sender, piece, ucs2, place, ref, when or datetime.now(UTC))
            temporary = self.inbox / f".{self.count}"
            temporary.write_text("\n".join(lines), "utf-8")
            temporary.rename(self.inbox / str(self.count))

    def _backup(self, sender, text, ucs2, place, ref, when):
        code = text.encode("utf-16-be").hex().upper()
        return [
            "[SMSBackup000]",
            'SMSC = "+15550000000"',
            "PDU = Deliver",
            f"DateTime = {when:%Y%m%dT%H%M%S}",
            "State = UnRead",
            f'Number = "{sender}"',
            "NumberUnicode = " + sender.encode("utf-16-be").hex().upper(),
            *([f"UDH = 050003{ref:02X}{place[0]:02X}{place[1]:02X}"] if place else []),
            *[f"Text{i // 200:02d} = {code[i : i + 200]}" for i in range(0, len(code), 200)],
            f"Coding = {'Unicode' if ucs2 else 'Default'}_No_Compression",
            "Folder = 1",
            f"Length = {len(code) // 4}",
            "Class = -1",
            "ReplySMSC = False",
            "RejectDuplicates = False",
            "ReplaceMessage = 0",
            "MessageReference = 0",
            "",
        ]


class Modem:
    """The modem of pty_modem.py, in its own process."""

    def __init__(self, root):
        self.root = root
        self.switch_on()
        self.section = ["connection = at", f"device = {root / 'tty'}"]

    def switch_on(self):
        """Its card and what the network holds for it are as they were."""
        command = [
            sys.executable,
            str(HERE / "pty_modem.py"),
            *(str(self.root / n) for n in ("tty", "radio", "orders")),
        ]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE)
        assert self.process.stdout.readline()
        self.socket = socket.socket(socket.AF_UNIX)
        self.socket.connect(str(self.root / "orders"))
        self.orders = self.socket.makefile("rw")

    def kill(self):
        self.socket.close()
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()

    def order(self, do, **what):
        self.orders.write(json.dumps({"do": do, **what}) + "\n")
        self.orders.flush()
        return json.loads(self.orders.readline())

    def ready(self):
        until(lambda: self.order("state")["listens"], 30, "the daemon's start of the modem")
        return self

    def receive(self, sender, text, ref=7, order=None, when=None, wide=False):
        """Somebody texts us; ``order`` has the places of the parts, with gaps and repeats as wanted."""
        pieces = in_short_parts(text) if wide else list(divided(text))
        for i in order if order is not None else range(len(pieces)):
            piece, ucs2, place = pieces[i]
            header = b""
            if place:
                header = bytes([8, 4, 1, ref, *place]) if wide else bytes([0, 3, ref, *place])
            self.order("deliver", pdu=tpdu.deliver(sender, piece, header, when, ucs2))

    def quiet(self):
        """Wait until the daemon has fetched all that came."""
        until(lambda: self.order("state") == {"listens": True, "store": 0, "waiting": 0})

    def events(self):
        path = self.root / "radio"
        return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []

    def on_air(self):
        return [e for e in self.events() if e["event"] == "sent"]

    def close(self):
        self.socket.close()
        self.process.terminate()
        self.process.wait()
        self.process.stdout.close()
