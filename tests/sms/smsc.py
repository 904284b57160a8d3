"""An SMPP 3.4 centre on raw sockets, with a codec of its own and every answer under the test's control."""

import asyncio
import contextlib
import itertools
import struct

from sitebot.wording.parts import encoding, parts
from tests.sms import tpdu

BINDS = {0x1, 0x2, 0x9}
RESPONSE = 0x80000000


def string(octets, at):
    end = octets.index(0, at)
    return octets[at:end].decode("latin-1"), end + 1


class Session:
    """One connection."""

    def __init__(self, centre, reader, writer):
        self.centre, self.reader, self.writer = centre, reader, writer
        self.numbers, self.pending = itertools.count(1), {}

    def write(self, command, status, number, body=b""):
        self.writer.write(struct.pack(">IIII", 16 + len(body), command, status, number) + body)

    async def ask(self, command, body, seconds):
        number, answer = next(self.numbers), asyncio.get_running_loop().create_future()
        self.pending[number] = answer
        self.write(command, 0, number, body)
        try:
            async with asyncio.timeout(seconds):
                return await answer
        finally:
            self.pending.pop(number, None)

    async def run(self):
        try:
            while True:
                length, command, status, number = struct.unpack(">IIII", await self.reader.readexactly(16))
                body = await self.reader.readexactly(length - 16)
                if not await self.take(command, status, number, body):
                    break
                await self.writer.drain()
        except (asyncio.IncompleteReadError, ConnectionError):
            pass
        finally:
            if self in self.centre.bound:
                self.centre.bound.remove(self)
            self.writer.close()

    async def take(self, command, status, number, body):
        if command & RESPONSE:
            if (answer := self.pending.get(number)) and not answer.done():
                answer.set_result(status)
        elif command in BINDS:
            return self.bind(command, number, body)
        elif command == 0x15:
            self.centre.enquiries += 1
            if not self.centre.mute:
                self.write(command | RESPONSE, 0, number)
        elif command == 0x6:
            self.write(command | RESPONSE, 0, number)
            return False
        elif command == 0x4:
            return await self.submit(number, body)
        return True

    def bind(self, command, number, body):
        name, at = string(body, 0)
        password, _ = string(body, at)
        known = self.centre.users.get(name) == password
        self.write(command | RESPONSE, 0 if known else 0x0E, number, b"STUB\0" if known else b"")
        if known:
            self.centre.bound.append(self)
            self.centre.binds += 1
        return known

    async def submit(self, number, body):
        said = read_submit(body)
        self.centre.submits.append(said)
        order = self.centre.script.pop(0) if self.centre.script else ""
        if order == "drop":
            return False
        if order == "no answer":
            return True
        if order.startswith("0x"):
            self.write(0x80000004, int(order, 16), number)
            return True
        ident = f"{next(self.centre.ids):08x}"
        said["id"] = ident
        if order == "receipt first":
            self.centre.start(self.answer_after_receipt(number, ident, said))
            return True
        self.write(0x80000004, 0, number, ident.encode() + b"\0")
        if said["wants_report"] and not order and self.centre.reports:
            self.centre.start(self.centre.receipt(ident, said))
        return True

    async def answer_after_receipt(self, number, ident, said):
        await self.centre.receipt(ident, said)
        self.write(0x80000004, 0, number, ident.encode() + b"\0")


def read_submit(body):
    _, at = string(body, 0)
    kinds = [body[at], body[at + 1]]
    sender, at = string(body, at + 2)
    kinds += [body[at], body[at + 1]]
    to, at = string(body, at + 2)
    esm_class, at = body[at], at + 3
    _, at = string(body, at)
    _, at = string(body, at)
    wants, coding, size = body[at], body[at + 2], body[at + 4]
    octets, rest = body[at + 5 : at + 5 + size], body[at + 5 + size :]
    header = b""
    if esm_class & 0x40:
        header, octets = octets[1 : 1 + octets[0]], octets[1 + octets[0] :]
    how = {8: "utf-16-be", 3: "latin-1", 1: "ascii"}.get(coding)
    text = octets.decode(how) if how else tpdu.of_septets(octets)
    return {
        "sender": sender,
        "to": to,
        "kinds": kinds,
        "text": text,
        "coding": coding,
        "header": header.hex(),
        "size": size,
        "options": rest.hex(),
        "wants_report": wants & 1,
    }


class Centre:
    """The network's side: users, what was submitted, what is to be delivered until it is acknowledged."""

    def __init__(self):
        self.users, self.bound, self.binds = {"bot": "pw"}, [], 0
        self.submits, self.script, self.ids = [], [], itertools.count(0xA0)
        self.enquiries, self.mute = 0, False
        self.reports, self.state, self.decimal, self.dirty = True, "DELIVRD", False, False
        self.wait_s, self.tries = 5.0, []
        self.tasks = set()

    async def open(self, port=0):
        self.server = await asyncio.start_server(lambda r, w: Session(self, r, w).run(), "127.0.0.1", port)
        self.port = self.server.sockets[0].getsockname()[1]
        return self

    async def close(self):
        self.server.close()
        for session in list(self.bound):
            session.writer.close()
        for task in self.tasks:
            task.cancel()
        await asyncio.gather(*self.tasks, return_exceptions=True)

    def start(self, coroutine):
        task = asyncio.create_task(coroutine)
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)
        return task

    async def deliver(self, body):
        """Again and again until it is acknowledged; how often that took."""
        for tries in itertools.count(1):
            while not self.bound:
                await asyncio.sleep(0.02)
            with contextlib.suppress(TimeoutError, ConnectionError):
                if await self.bound[-1].ask(0x5, body, self.wait_s) == 0:
                    return tries
            await asyncio.sleep(0.05)

    async def receipt(self, ident, said):
        shown = str(int(ident, 16)) if self.decimal else ident
        text = (
            f"id:{shown} sub:001 dlvrd:001 submit date:2611251000 done date:2611251001 stat:{self.state} err:000 text:"
        )
        octets = text.encode() + ("ñandú".encode("latin-1") if self.dirty else b"x")
        body = delivery(said["to"], said["sender"], octets, esm_class=0x04)
        return await self.deliver(body)

    async def text(self, sender, text, how="header", ref=7, order=None):
        """Somebody texts us; with the parts' numbers in a header or in optional fields, or all in one payload."""
        pieces = parts(text)
        coding = 8 if encoding(text) == "ucs2" else 0
        if how == "payload":
            octets = encoded(text, coding)
            return [await self.deliver(delivery(sender, "1", b"", 0, coding, option(0x424, octets)))]
        tries = []
        for i in order if order is not None else range(len(pieces)):
            octets, esm_class, options = encoded(pieces[i], coding), 0, b""
            if len(pieces) > 1 and how == "header":
                octets, esm_class = bytes([5, 0, 3, ref, len(pieces), i + 1]) + octets, 0x40
            elif len(pieces) > 1:
                options = option(0x20C, bytes([0, ref])) + option(0x20E, bytes([len(pieces)]))
                options += option(0x20F, bytes([i + 1]))
            tries.append(await self.deliver(delivery(sender, "15550000000", octets, esm_class, coding, options)))
        return tries


def encoded(text, coding):
    return text.encode("utf-16-be") if coding == 8 else tpdu.to_septets(text)


def option(tag, octets):
    return struct.pack(">HH", tag, len(octets)) + octets


def delivery(sender, to, octets, esm_class=0, coding=0, options=b"", kind=1):
    head = b"\0" + bytes([kind, 1]) + sender.lstrip("+").encode() + b"\0" + bytes([1, 1]) + to.encode() + b"\0"
    return head + bytes([esm_class, 0, 0, 0, 0, 0, 0, coding, 0, len(octets)]) + octets + options
