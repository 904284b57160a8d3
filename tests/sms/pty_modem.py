"""A GSM modem on a pseudo terminal that speaks AT commands and PDU mode, so that a real daemon can drive it.

Only the radio is invented. Run as a program: ``pty_modem.py LINK JOURNAL SOCKET``. What is sent is written to the
journal as JSON lines; the socket takes orders, one JSON object a line (deliver, set, state).
"""

import asyncio
import json
import os
import pty
import re
import signal
import sys
import tty
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import tpdu

ANSWERS = {
    "I": "Pty modem",
    "+CGMI": "Pty",
    "+CGMM": "Modem",
    "+CGMR": "1.0",
    "+CGSN": "490154203237518",
    "+GSN": "490154203237518",
    "+CIMI": "310150123456789",
    "+CPIN?": "+CPIN: READY",
    "+CSQ": "+CSQ: 20,99",
    "+CBC": "+CBC: 0,100",
    "+CREG?": "+CREG: 0,1",
    "+CGREG?": "+CGREG: 0,1",
    "+COPS?": '+COPS: 0,2,"310150"',
    "+CSCA?": '+CSCA: "+15550000000",145',
    "+CMGF=?": "+CMGF: (0,1)",
    "+CMGF?": "+CMGF: 0",
    "+CSCS=?": '+CSCS: ("GSM","UCS2","HEX")',
    "+CSCS?": '+CSCS: "GSM"',
    "+CPMS=?": '+CPMS: ("SM"),("SM"),("SM")',
    "+CNMI=?": "+CNMI: (0-2),(0-3),(0,2),(0-2),(0,1)",
    "+CSMS?": "+CSMS: 0,1,1,1",
    "+CMGL=?": "+CMGL: (0-4)",
}
ACCEPTED = (
    "Z",
    "&F",
    "H",
    "+CMGF=0",
    "+CSCS=",
    "+CMEE",
    "+CLIP",
    "+CRC",
    "+CFUN",
    "+CSDH",
    "+CMMS",
    "S",
    "V1",
    "Q0",
    "X",
)
ACCEPTED += ("&D", "&C", "+CRSL", "+CNMA", "+CUSD=", "+WS46", "+CCWA")
PLACES = 50


class PtyModem:
    """One modem with its SIM store."""

    def __init__(self, link, journal):
        self.master, slave = pty.openpty()
        tty.setraw(self.master)
        tty.setraw(slave)
        os.set_blocking(self.master, False)
        Path(link).unlink(missing_ok=True)
        Path(link).symlink_to(os.ttyname(slave))
        self.journal = Path(journal).open("a", buffering=1)  # noqa: SIM115
        #: The card and what the network holds for it: both outlive the modem.
        self.card = Path(f"{journal}.card")
        self.store, self.waiting = {}, []
        if self.card.exists():
            kept = json.loads(self.card.read_text())
            self.store = {int(place): (0, pdu) for place, pdu in kept["store"].items()}
            self.waiting = kept["waiting"]
        self.echo, self.buffer, self.reading_pdu = True, b"", False
        self.cnmi = [0] * 5
        self.reference = self.sent = 0
        # Orders, set over the socket: "500" answers +CMS ERROR; "swallow" sends but never answers.
        self.fail, self.report_status, self.report_from = [], 0, "+15550000000"
        self.kill_on = self.kill_after = None

    # --- the serial side --------------------------------------------------------------------------------------------

    def say(self, text):
        try:
            os.write(self.master, text.encode("latin-1"))
        except BlockingIOError:
            return

    def ok(self, *lines):
        self.say("".join(f"\r\n{line}\r\n" for line in lines) + "\r\nOK\r\n")

    def readable(self):
        try:
            data = os.read(self.master, 4096)
        except OSError:
            return
        if self.echo and not self.reading_pdu:
            self.say(data.decode("latin-1"))
        self.buffer += data
        while self.take_pdu() if self.reading_pdu else self.take_command():
            pass

    def take_pdu(self):
        found = re.search(rb"[\x1a\x1b]", self.buffer)
        if not found:
            return False
        body, self.buffer = self.buffer[: found.start()], self.buffer[found.end() :]
        self.reading_pdu = False
        if found[0] == b"\x1b":
            self.ok()
        else:
            task = asyncio.ensure_future(self.submit(body.decode("latin-1").strip()))
            task.add_done_callback(lambda t: t.exception())
        return True

    def take_command(self):
        line, end, rest = self.buffer.partition(b"\r")
        if not end:
            if not self.buffer.strip(b"\x1b\x1a\n"):
                self.buffer = b""
            return False
        self.buffer = rest
        if line := line.strip(b"\n \x1b\x1a\x00"):
            self.command(line.decode("latin-1"))
        return True

    def command(self, line):
        if not line.upper().startswith("AT"):
            return
        c = line.upper()[2:]
        if self.kill_on and c.startswith(self.kill_on[0]):
            os.kill(self.kill_on[1], signal.SIGKILL)
            self.kill_on = None
        elif c in ANSWERS:
            self.ok(ANSWERS[c])
        elif found := re.fullmatch(r"(E|\+CMGF=1|\+CPMS\?|\+CPMS=|\+CNMI\?|\+CNMI=|\+CSMS=|\+CMG[LRDS]=?)(.*)", c):
            self.with_value(found[1].rstrip("="), found[2], "=" in found[1])
        elif not c or c.startswith(ACCEPTED):
            self.ok()
        else:
            self.say("\r\nERROR\r\n")

    def with_value(self, name, value, sets):
        full = f"{len(self.store)},{PLACES}"
        match name:
            case "E":
                self.echo = value[:1] == "1"
                self.ok()
            case "+CMGF" | "+CMGF=1":
                self.say("\r\nERROR\r\n")
            case "+CPMS?":
                self.ok(f'+CPMS: "SM",{full},"SM",{full},"SM",{full}')
            case "+CPMS":
                self.ok(f"+CPMS: {full},{full},{full}")
            case "+CNMI?":
                self.ok("+CNMI: " + ",".join(map(str, self.cnmi)))
            case "+CNMI":
                self.cnmi = ([int(x) for x in value.split(",") if x.strip()] + [0] * 5)[:5]
                self.ok()
            case "+CSMS":
                self.ok("+CSMS: 1,1,1")
            case "+CMGL":
                self.list_store(int(value or 0))
            case "+CMGR":
                self.read_store(int(value))
            case "+CMGD":
                self.store.pop(int(value.split(",")[0]), None)
                self.feed()
                self.keep()
                self.ok()
            case "+CMGS":
                self.reading_pdu = True
                self.say("\r\n> ")

    def list_store(self, wanted):
        lines = []
        for place, (status, pdu) in sorted(self.store.items()):
            if wanted in (4, status):
                lines.append(f"+CMGL: {place},{status},,{size(pdu)}\r\n{pdu}")
                self.store[place] = (1, pdu)
        self.ok(*lines)

    def read_store(self, place):
        if place not in self.store:
            self.say("\r\n+CMS ERROR: 321\r\n")
            return
        status, pdu = self.store[place]
        self.store[place] = (1, pdu)
        self.ok(f"+CMGR: {status},,{size(pdu)}\r\n{pdu}")

    # --- the radio side ---------------------------------------------------------------------------------------------

    async def submit(self, pdu):
        order = self.fail.pop(0) if self.fail else None
        if order and order.isdigit():
            self.write("rejected", code=order)
            self.say(f"\r\n+CMS ERROR: {order}\r\n")
            return
        said = tpdu.read_submit(pdu)
        if said["octets"] > 140:
            self.write("too long", **said)
            self.say("\r\n+CMS ERROR: 304\r\n")
            return
        self.reference = (self.reference + 1) % 256
        self.sent += 1
        said["reference"] = self.reference
        self.write("sent", **said)
        if self.kill_after and self.sent >= self.kill_after[0]:
            os.kill(self.kill_after[1], signal.SIGKILL)
            self.kill_after = None
        elif order != "swallow":
            self.ok(f"+CMGS: {self.reference}")
            if said["wants_report"] and self.report_status is not None:
                await asyncio.sleep(0.05)
                self.report(said["to"], self.reference)

    def report(self, to, reference):
        pdu = tpdu.status_report(reference, to, self.report_status, datetime.now(UTC), self.report_from)
        if self.cnmi[3] == 1:
            self.say(f"\r\n+CDS: {size(pdu)}\r\n{pdu}\r\n")
        else:
            self.put(pdu)

    def put(self, pdu):
        self.waiting.append(pdu)
        self.feed()
        self.keep()

    def keep(self):
        fresh = self.card.with_suffix(".new")
        fresh.write_text(json.dumps({"store": {p: pdu for p, (_, pdu) in self.store.items()}, "waiting": self.waiting}))
        fresh.rename(self.card)

    def feed(self):
        while self.waiting and len(self.store) < PLACES:
            place = next(i for i in range(1, PLACES + 1) if i not in self.store)
            self.store[place] = (0, self.waiting.pop(0))
            if self.cnmi[1] == 1:
                self.say(f'\r\n+CMTI: "SM",{place}\r\n')

    def write(self, event, **what):
        self.journal.write(json.dumps({"event": event, **what}) + "\n")

    async def orders(self, reader, writer):
        while line := await reader.readline():
            order = json.loads(line)
            answer = {}
            match order.pop("do"):
                case "deliver":
                    self.put(order["pdu"])
                case "set":
                    for name, value in order.items():
                        setattr(self, name, value)
                case "state":
                    answer = {"listens": self.cnmi[1] == 1, "store": len(self.store), "waiting": len(self.waiting)}
            writer.write(json.dumps(answer).encode() + b"\n")
            await writer.drain()


def size(pdu):
    """Octets behind the service centre's address, as AT commands count them."""
    return len(pdu) // 2 - int(pdu[:2], 16) - 1


async def main(link, journal, socket):
    modem = PtyModem(link, journal)
    asyncio.get_running_loop().add_reader(modem.master, modem.readable)
    Path(socket).unlink(missing_ok=True)
    await asyncio.start_unix_server(modem.orders, socket)
    print("ready", flush=True)
    await asyncio.Event().wait()


if __name__ == "__main__":
    asyncio.run(main(*sys.argv[1:4]))
