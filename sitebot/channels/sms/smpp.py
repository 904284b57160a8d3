"""The SMPP line: SMPP 3.4 to a carrier or aggregator, by aiosmpplib. A part is committed before it is acknowledged.

The library keeps the link: bind, enquire_link, bind again. Reading octets is in smpp_pdu.py. Comments that name a trap
were measured on aiosmpplib 0.7.4.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections.abc import Awaitable, Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import structlog

from sitebot.channels.sms import smpp_pdu
from sitebot.channels.sms.line import Accepted, Counter, Heard, Letter, OptedOut, Step
from sitebot.channels.sms.settings import SmppSettings
from sitebot.channels.sms.smpp_link import esme_of
from sitebot.errors import DataError, LoggedOut, Refused, Unreachable
from sitebot.wording import gsm
from sitebot.wording.parts import encoding

if TYPE_CHECKING:
    import aiosmpplib

RECENT = "smpp/recent"
#: deliver_sm has neither id nor time: within this long after a bind, what equals a text heard before it is a repeat.
AFTER_BIND = timedelta(seconds=120)
REPEATED_WITHIN = timedelta(minutes=10)
#: A commit that took so long may have run into the other side's time-out, which then repeats in the same session.
SLOW = timedelta(seconds=2)
_MOST_RECENT = 100
#: 5.1.3: the other side is busy, its queue is full, or it failed by itself; the same message may pass later.
PASSING = {0x08, 0x14, 0x45, 0x58, 0x61, 0x64, 0xFE, 0xFF}
NOT_US = {0x0D, 0x0E, 0x0F}
log = structlog.get_logger(__name__)


class Smpp:
    """One link, bound as transceiver."""

    name = "smpp"

    def __init__(self, settings: SmppSettings, own: str, state: Mapping[str, str], rebind_ms: int = 1000) -> None:
        """``own``: the number that messages come from; ``state``: what the channel kept."""
        try:
            import aiosmpplib
        except ImportError as error:
            raise DataError("The SMPP line needs aiosmpplib: pip install 'sitebot[sms]'.") from error
        self._library = aiosmpplib
        self._settings, self._own, self._rebind_ms = settings, own.lstrip("+"), rebind_ms
        self.recent: dict[str, list[str]] = json.loads(state.get(RECENT) or "{}")
        self.session, self.bound_at = "", datetime.min.replace(tzinfo=UTC)
        self._slow: dict[str, datetime] = {}
        self._waiting: dict[str, asyncio.Future[tuple[int, str]]] = {}
        self._letters: dict[int, str] = {}
        self._queue: asyncio.Queue[Any] = asyncio.Queue()
        self._drop = asyncio.Event()
        self._counter: Counter | None = None

    # --- the link ---------------------------------------------------------------------------------------------------

    async def hear(self, counter: Counter) -> None:
        """Keep the link up. LoggedOut: the other side does not know our name or password."""
        self._counter = counter
        self._drop.clear()
        link = asyncio.create_task(self._esme().start())
        drop = asyncio.create_task(self._drop.wait())
        try:
            await asyncio.wait({link, drop}, return_when=asyncio.FIRST_COMPLETED)
            if link.done():
                link.result()
            raise Unreachable("the SMPP link was dropped")
        finally:
            self.session = ""
            self._fail_waiting("the link is down")
            drop.cancel()
            # More than once: in Python 3.11 wait_for, which the library uses, may swallow a cancellation.
            while not link.done():
                link.cancel()
                await asyncio.wait({link}, timeout=2)

    def _esme(self) -> aiosmpplib.ESME:
        # A queue for each link: what an old one may still hold is nothing to the next.
        self._queue = asyncio.Queue()
        return esme_of(self._library, self, self._settings, self._queue, self._rebind_ms)

    def bound(self, status: int) -> None:
        """The other side's answer to our bind."""
        if status in NOT_US:
            raise LoggedOut(f"SMPP: {self._settings.system_id} is not let in (status {status:#x})")
        if status == 0:
            self.session, self.bound_at = uuid4().hex[:8], datetime.now(UTC)
            self._fail_waiting("the link was lost")

    def _fail_waiting(self, why: str) -> None:
        for answer in self._waiting.values():
            if not answer.done():
                answer.set_exception(Unreachable(f"SMPP: {why}"))
                answer.exception()
        self._letters.clear()

    # --- in ---------------------------------------------------------------------------------------------------------

    async def delivered(self, pdu: bytes) -> None:
        """Commit what a deliver_sm brings; it is acknowledged when this returns, and not before."""
        try:
            message = smpp_pdu.read_deliver(pdu)
        except (ValueError, IndexError):
            log.error("left out: unreadable deliver_sm", pdu=pdu.hex()[:200])
            return
        if receipt := smpp_pdu.receipt_of(message):
            await self._insist(lambda counter: counter.note([receipt]))
            return
        heard = self._heard(message)
        if heard is None:
            log.info("left out: binary")
            return
        began = datetime.now(UTC)
        await self._insist(lambda counter: counter.take([heard]))
        self.recent = json.loads(heard.state[RECENT])
        if datetime.now(UTC) - began > SLOW:
            self._slow[_likeness(heard)] = began

    async def _insist(self, commit: Callable[[Counter], Awaitable[None]]) -> None:
        """Try to commit until it works. Where it does not for long, drop the link: what has no answer comes again."""
        assert self._counter is not None
        end = asyncio.get_running_loop().time() + self._settings.hold_s
        while True:
            try:
                await commit(self._counter)
                return
            except Exception as error:
                log.error("not committed yet", reason=str(error))
                if asyncio.get_running_loop().time() > end:
                    self._drop.set()
                    await asyncio.Event().wait()
                await asyncio.sleep(0.1)

    def _heard(self, message: smpp_pdu.Delivered) -> Heard | None:
        if (read := smpp_pdu.part_of(message, self._settings.alphabet)) is None:
            return None
        text, (reference, total, place) = read
        now = datetime.now(UTC)
        heard = Heard("", message.sender, text, None, reference, total, place)
        like = _likeness(heard)
        ident = self._repeated(like, now) or hashlib.sha256(f"{like}|{now.isoformat()}".encode()).hexdigest()[:40]
        recent = {**self.recent, like: [ident, now.isoformat(), self.session]}
        recent = dict(sorted(recent.items(), key=lambda item: item[1][1])[-_MOST_RECENT:])
        return Heard(ident, message.sender, text, None, reference, total, place, state={RECENT: json.dumps(recent)})

    def _repeated(self, like: str, now: datetime) -> str:
        """The id of the same text heard before, where this can be its repeat: new session, or a slow commit."""
        if like not in self.recent:
            return ""
        ident, at, session = self.recent[like]
        if now - datetime.fromisoformat(at) > REPEATED_WITHIN:
            return ""
        in_new_session = session != self.session and now - self.bound_at < AFTER_BIND
        was_slow = like in self._slow and now - self._slow[like] < AFTER_BIND
        return ident if in_new_session or was_slow else ""

    # --- out --------------------------------------------------------------------------------------------------------

    async def send(self, letter: Letter, accepted: Accepted) -> None:
        """Part by part, each written down when the other side has taken it."""
        if not self.session:
            raise Unreachable("SMPP: not bound")
        for place in range(len(letter.parts)):
            if place not in letter.accepted:
                ident = await self._submit(letter, place)
                await accepted(place, ident, Step.SENT)

    async def _submit(self, letter: Letter, place: int) -> str:
        name = f"{letter.ref}/{place}"
        answer: asyncio.Future[tuple[int, str]] = asyncio.get_running_loop().create_future()
        self._waiting[name] = answer
        try:
            await self._queue.put(self._message(letter, place, name))
            async with asyncio.timeout(self._settings.timeout_s):
                status, ident = await answer
        except TimeoutError as error:
            # It may have been taken: sent again it may come twice, but never not at all.
            raise Unreachable("SMPP: no answer to submit_sm") from error
        finally:
            self._waiting.pop(name, None)
        self._judge(status)
        return ident or name

    def _judge(self, status: int) -> None:
        if status in self._settings.opted_out:
            raise OptedOut(f"SMPP: the number has opted out (status {status:#x})")
        if status in PASSING:
            raise Unreachable(f"SMPP: busy (status {status:#x})")
        if status:
            raise Refused(f"SMPP: refused (status {status:#x})")

    def _message(self, letter: Letter, place: int, name: str) -> aiosmpplib.SubmitSm:
        library, text = self._library, letter.parts[place]
        octets, coding = self._encoded(letter, text)
        several = len(letter.parts) > 1
        # Divided and encoded by us: the library's own division crashes, or moves long texts into message_payload,
        # which many refuse. Numbers without + and as international: its default sends the + itself.
        message = library.SubmitSm(
            short_message=text or " ",
            source=library.PhoneNumber(self._own, library.TON.INTERNATIONAL, library.NPI.ISDN),
            destination=library.PhoneNumber(letter.to.lstrip("+"), library.TON.INTERNATIONAL, library.NPI.ISDN),
            encoding=coding,
            registered_delivery=1,
            esm_class=smpp_pdu.HAS_HEADER if several else 0,
            log_id=name,
        )
        header = bytes([5, 0, 3, letter.number, len(letter.parts), place + 1]) if several else b""
        message.set_encoded_message(header + octets or b" ")
        return message

    def _encoded(self, letter: Letter, text: str) -> tuple[bytes, str]:
        """The whole message in one coding, or phones cannot join its parts."""
        if encoding(letter.text) == "ucs2":
            return text.encode("utf-16-be"), "ucs2"
        if self._settings.alphabet == "gsm7":
            return gsm.septets(text), "gsm0338"
        coding = {"latin1": "latin_1", "ascii": "ascii"}[self._settings.alphabet]
        try:
            letter.text.encode(coding)
        except UnicodeEncodeError:
            return text.encode("utf-16-be"), "ucs2"
        return text.encode(coding), coding

    def is_wanted(self, name: str) -> bool:
        """Does anybody still wait for the answer? What was given back must not go out behind our back."""
        return name in self._waiting

    def sending(self, pdu: bytes, name: str) -> None:
        self._letters[smpp_pdu.header_of(pdu).sequence] = name

    def answered(self, pdu: bytes) -> None:
        """The other side's answer to a message, found by its sequence number."""
        header = smpp_pdu.header_of(pdu)
        answer = self._waiting.get(self._letters.pop(header.sequence, ""))
        if answer and not answer.done():
            status = header.status or int(header.command == smpp_pdu.GENERIC_NACK)
            answer.set_result((status, smpp_pdu.message_id(pdu) if not status else ""))

    def not_sent(self, name: str, error: Exception) -> None:
        answer = self._waiting.get(name)
        if answer and not answer.done():
            answer.set_exception(Unreachable(f"SMPP: {error}"))


def _likeness(heard: Heard) -> str:
    told = f"{heard.sender}|{heard.reference}|{heard.total}|{heard.place}|{heard.text}"
    return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()[:24]
