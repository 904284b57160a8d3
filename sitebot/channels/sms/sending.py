"""What goes out: whether it may, when, how fast; then to the line, remembered so that no crash sends it twice.

The decisions are in courtesy.py and pace.py, the memory in ledger.py; this is their order.
"""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import structlog

from sitebot.channels.sms.courtesy import AWAKE_FOR, PREFIX, QuietHours, Robots, Standing
from sitebot.channels.sms.hearing import Voice
from sitebot.channels.sms.kept import ANSWERED, STRANGERS, Kept, own_texts, put_own_texts, remember, remembered
from sitebot.channels.sms.ledger import Sent
from sitebot.channels.sms.line import Letter, Line, NotNow, OptedOut, Receipt, Step
from sitebot.channels.sms.pace import Pace, Urgency
from sitebot.channels.sms.settings import SmsSettings
from sitebot.errors import ChannelError, Refused, Unreachable
from sitebot.message import Media, Outgoing
from sitebot.numbers import is_number
from sitebot.wording.parts import MOST_PARTS, cut, fold, parts

URGENCY = {"code": Urgency.CONFIRMATION, "reply": Urgency.REPLY, "reminder": Urgency.REMINDER, "notice": Urgency.NOTICE}
#: After a failure of the line itself the message is given to it again, so often and after so long [min].
AGAIN_AFTER = (1, 5, 15)
#: A reply waits for room in the rate at most so long [s]; then the outbox brings it again.
_MOST_WAIT_S = 20.0
Pause = Callable[[float], Awaitable[None]]
log = structlog.get_logger(__name__)


def reference(out: Outgoing) -> str:
    """Our name for a message: its key, and what tells it from another site's message of the same key."""
    # Of a code nothing goes into it, or the log would tell it to whoever tries ten thousand; its key has a nonce.
    text = "" if out.kind == "code" else out.text
    digest = hashlib.sha256(f"{out.address}\0{text}".encode()).hexdigest()[:12]
    return f"{out.key[:60]}.{digest}"


class Sending:
    """Hands messages to the line."""

    def __init__(
        self,
        kept: Kept,
        line: Line,
        voice: Voice,
        robots: Robots,
        settings: SmsSettings,
        now: Callable[[], datetime],
        pause: Pause = asyncio.sleep,
    ) -> None:
        self._kept, self._line, self._voice, self._robots = kept, line, voice, robots
        self._settings, self._now, self._pause = settings, now, pause
        self._pace = Pace(settings.parts_per_second, settings.burst)
        self._quiet = QuietHours(settings.quiet_from, settings.quiet_to, voice.here.zone)
        self._one_at_a_time = asyncio.Lock()

    async def send(self, out: Outgoing) -> str:
        """Send a message of the assistant; its reference. Sent again with the same key it goes out once."""
        ref = reference(out)
        done = self._kept.ledger.find(ref)
        if done and done.is_accepted:
            return ref
        if out.reply_to and out.reply_to in remembered(self._kept.rows, ANSWERED):
            return f"answered.{out.reply_to}"[:80]
        self._may(out, self._now())
        await self._greet(out)
        await self._post(ref, out.address, out.text, URGENCY[out.kind], out.media)
        if out.kind == "reply":
            self._robots.sent(out.address, self._folded(out.text), self._now())
        return ref

    # --- whether ----------------------------------------------------------------------------------------------------

    def _may(self, out: Outgoing, now: datetime) -> None:
        """Refused or NotNow where it may not go."""
        number, contact = out.address, self._voice.who(out.address)
        if not is_number(number) or number in self._settings.own:
            raise Refused(f"{number} is no number that can be texted")
        standing = Standing.of(self._kept.rows, number)
        answers = out.kind in ("reply", "code")
        if standing.stopped or (contact and contact.stopped and not answers):
            raise Refused(f"{number} asked for no more texts")
        if not answers and contact is None:
            raise Refused(f"{number} is not on the roster: nothing is started there")
        if out.kind == "reply" and (why := self._robots.is_robot(number, now, contact is not None)):
            raise Refused(f"{number} is not answered for a while: {why}")
        if out.kind == "notice" and (until := self._quiet.until(now)) and not self._is_awake(number, now):
            raise NotNow("quiet hours", until)

    def _is_awake(self, number: str, now: datetime) -> bool:
        heard = self._robots.last_heard(number)
        return heard is not None and now - heard < AWAKE_FOR

    async def _greet(self, out: Outgoing) -> None:
        """Before the first message to a number: who writes, why, and how to stop it."""
        known = self._voice.who(out.address) is not None
        standing = Standing.of(self._kept.rows, out.address)
        if standing.greeted or (not known and out.address in remembered(self._kept.rows, STRANGERS)):
            return
        text = self._voice.text("greeting" if known else "greeting_stranger", out.address)
        await self._post(f"hello.{out.address}", out.address, text, URGENCY[out.kind])
        async with self._kept.lock:
            change = self._kept.change()
            if known:
                standing = replace(Standing.of(change, out.address), greeted=self._now().isoformat(timespec="seconds"))
                change[PREFIX + out.address] = standing.to_json()
            else:
                remember(change, STRANGERS, out.address)
            await self._kept.commit(change.maps[0])

    async def _room(self, count: int, urgency: Urgency) -> None:
        """Wait for room in the line's rate, or say when there will be some."""
        now = self._now()
        cap = self._settings.parts_per_day
        if (
            cap
            and urgency < Urgency.CONFIRMATION
            and self._kept.ledger.parts_since(now - timedelta(days=1)) + count > cap
        ):
            raise NotNow("the line's daily cap is used up", now + timedelta(hours=1))
        while wait := self._pace.wait(count, urgency, self._now()):
            if urgency < Urgency.REPLY or wait > _MOST_WAIT_S:
                raise NotNow("the line's rate is used up", self._now() + timedelta(seconds=wait))
            await self._pause(wait)

    # --- to the line ------------------------------------------------------------------------------------------------

    def _folded(self, text: str) -> str:
        return fold(text, self._settings.fold_accents)

    async def _post(self, ref: str, to: str, text: str, urgency: Urgency, media: tuple[Media, ...] = ()) -> None:
        """Write it down as to be sent, send it, write down what the other side took."""
        text, rest = cut(self._folded(text), MOST_PARTS)
        if rest:
            log.warning("longer than three parts, cut", ref=ref)
        sent = self._kept.ledger.find(ref)
        if sent is None:
            count = len(parts(text))
            await self._room(count, urgency)
            async with self._kept.lock:
                blank = ("",) * count
                number = self._kept.ledger.next_number()
                sent = Sent(number, ref, to, self._now(), text, urgency, blank, (Step.QUEUED,) * count)
                await self._kept.commit(self._kept.ledger.row(sent))
        if not sent.is_accepted:
            await self._to_line(sent, media)

    async def _to_line(self, sent: Sent, media: tuple[Media, ...] = ()) -> None:
        async def accepted(place: int, ident: str, step: Step) -> None:
            async with self._kept.lock:
                before = self._kept.ledger.find(sent.ref) or sent
                await self._moved(before, self._kept.ledger.accepted(before, place, ident, step))

        letter = Letter(
            ref=sent.line_ref,
            to=sent.to,
            parts=tuple(parts(sent.text)),
            number=sent.number % 256,
            urgency=sent.urgency,
            accepted={place: ident for place, ident in enumerate(sent.ids) if ident},
            media=media,
        )
        async with self._one_at_a_time:
            try:
                await self._line.send(letter, accepted)
            except OptedOut:
                await self._stand(sent.to, lambda s: s.stop(self._now(), "network"))
                raise

    async def _stand(self, number: str, changed: Callable[[Standing], Standing]) -> None:
        async with self._kept.lock:
            standing = changed(Standing.of(self._kept.rows, number))
            await self._kept.commit({PREFIX + number: standing.to_json()})

    # --- what follows -----------------------------------------------------------------------------------------------

    async def note(self, receipts: Sequence[Receipt]) -> None:
        """Move messages forward by what the network says of them."""
        for receipt in receipts:
            async with self._kept.lock:
                sent = self._kept.ledger.note(receipt)
                before = self._kept.ledger.find(sent.ref) if sent else None
                if sent and before:
                    await self._moved(before, sent, receipt.again)

    async def _moved(self, before: Sent, sent: Sent, may_pass: bool = False) -> None:
        """Commit how far a message has come, and what that says of its number."""
        change = self._kept.change()
        standing = Standing.of(change, sent.to)
        if sent.step == Step.FAILED and may_pass and sent.tries <= len(AGAIN_AFTER):
            # The line failed, not the phone: it gets the message again.
            sent = replace(sent, again_at=self._now() + timedelta(minutes=AGAIN_AFTER[sent.tries - 1]))
        elif sent.step >= Step.FAILED:
            sent = replace(sent, text="")
        if sent.step == Step.DELIVERED:
            change[PREFIX + sent.to] = standing.was_reached().to_json()
        elif sent.step == Step.FAILED and sent.again_at is None and before.step != Step.FAILED:
            log.warning("not delivered", ref=sent.ref, detail=sent.detail)
            change[PREFIX + sent.to] = standing.was_missed(self._now()).to_json()
        change.update(self._kept.ledger.row(sent))
        await self._kept.commit(change.maps[0])

    async def send_again(self) -> None:
        """Give the line once more what it failed to send."""
        for old in self._kept.ledger.again(self._now()):
            if Standing.of(self._kept.rows, old.to).stopped and old.urgency < Urgency.CONFIRMATION:
                await self._kept.commit(self._kept.ledger.row(replace(old, again_at=None, text="")))
                continue
            blank = ("",) * len(old.ids)
            steps = (Step.QUEUED,) * len(old.ids)
            sent = replace(old, tries=old.tries + 1, again_at=None, ids=blank, steps=steps)
            await self._kept.commit(self._kept.ledger.row(sent))
            try:
                await self._to_line(sent)
            except ChannelError as error:
                log.info("not sent again yet", ref=sent.ref, reason=str(error))
                later = None if isinstance(error, Refused) else self._now() + timedelta(minutes=1)
                await self._kept.commit(self._kept.ledger.row(replace(sent, tries=old.tries, again_at=later)))

    async def say_own(self) -> None:
        """Send what the channel itself has to say, also what a crash left unsaid."""
        for own in own_texts(self._kept.rows):
            try:
                await self._post(own.ref, own.to, own.text, own.urgency)
            except Unreachable as error:
                log.info("own text not sent yet", ref=own.ref, reason=str(error))
                continue
            except ChannelError as error:
                log.warning("own text refused", ref=own.ref, reason=str(error))
            self._robots.sent(own.to, self._folded(own.text), self._now())
            async with self._kept.lock:
                change = self._kept.change()
                put_own_texts(change, [o for o in own_texts(change) if o.ref != own.ref])
                await self._kept.commit(change.maps[0])
