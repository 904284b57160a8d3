"""The SMS channel: builds its parts round one line and joins them. Nothing is decided here."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta

import structlog

from sitebot.channels.protocol import Keep
from sitebot.channels.sms.courtesy import Robots, unreachable
from sitebot.channels.sms.forgetting import ASKED, forgotten
from sitebot.channels.sms.hearing import NAME, Hearing, Here, Voice, Who
from sitebot.channels.sms.kept import Kept
from sitebot.channels.sms.line import Heard, Line, Receipt, Remembering, Step
from sitebot.channels.sms.sending import Pause, Sending
from sitebot.channels.sms.settings import ModemSettings, SmppSettings, SmsSettings, WebhookSettings
from sitebot.errors import Unreachable
from sitebot.message import Outgoing

#: How often what is due by the clock is looked at [s].
TICK_S = 1.0
_LONGEST_WAIT_S = 30.0
#: How often it is asked whether somebody was erased.
FORGET_EVERY = timedelta(minutes=1)
log = structlog.get_logger(__name__)


def line_of(settings: SmsSettings, state: Mapping[str, str]) -> Line:
    """The line that the settings name; its libraries are needed only then."""
    match settings.line:
        case ModemSettings():
            from sitebot.channels.sms.modem import Modem

            return Modem.of(settings.line)
        case SmppSettings():
            from sitebot.channels.sms.smpp import Smpp

            return Smpp(settings.line, settings.own[0] if settings.own else "", state)
        case WebhookSettings():
            from sitebot.channels.sms.webhook import Webhook

            return Webhook(settings.line, settings.own[0] if settings.own else "")


class SmsChannel:
    """One line with the people behind it. ``state`` is what was kept of it before."""

    name = NAME

    def __init__(
        self,
        settings: SmsSettings,
        state: Mapping[str, str],
        here: Here,
        who: Who,
        *,
        line: Line | None = None,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        pause: Pause = asyncio.sleep,
        tick_s: float = TICK_S,
        erased: Callable[[], Sequence[str]] = tuple,
    ) -> None:
        #: Hashes of numbers that were erased while this runs.
        self._erased, self._forgot = erased, now()
        self._kept = Kept(state)
        self._line = line or line_of(settings, state)
        self._now, self._pause, self._tick_s = now, pause, tick_s
        voice = Voice(here, who, settings.name, settings.contact)
        robots = Robots(settings.replies_per_hour, settings.strangers_per_hour)
        half_after = timedelta(seconds=settings.half_after_s)
        self._hearing = Hearing(self._kept, voice, robots, settings.own, now, half_after)
        self._sending = Sending(self._kept, self._line, voice, robots, settings, now, pause)
        self._due = asyncio.Event()

    @property
    def state(self) -> Mapping[str, str]:
        """What is kept of the channel, as committed so far."""
        return dict(self._kept.rows)

    def unreachable(self) -> dict[str, str]:
        """Numbers that texts do not reach, with the reason."""
        return unreachable(self._kept.rows)

    def progress(self, ref: str) -> tuple[Step, str]:
        """How far a message has come, and what was said of it."""
        sent = self._kept.ledger.find(ref)
        return (sent.step, sent.detail) if sent else (Step.QUEUED, "")

    async def listen(self, keep: Keep) -> None:
        """Bring messages until cancelled."""
        self._kept.through(keep)
        tasks = [asyncio.create_task(self._hear()), asyncio.create_task(self._tend())]
        try:
            done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_EXCEPTION)
            for task in done:
                task.result()
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    async def send(self, out: Outgoing) -> str:
        """Send one message; its reference. NotNow (an Unreachable) says until when it has to wait."""
        return await self._sending.send(out)

    # --- the counter ------------------------------------------------------------------------------------------------

    async def take(self, heard: Sequence[Heard]) -> None:
        """What the line heard; committed on return."""
        await self._hearing.take(heard)
        self._due.set()

    async def note(self, receipts: Sequence[Receipt]) -> None:
        """What became of messages; committed on return."""
        await self._sending.note(receipts)

    def unsettled(self) -> Sequence[str]:
        return [sent.line_ref for sent in self._kept.ledger.unsettled(self._now())]

    async def forget(self, number: str) -> None:
        """Take a number, or that of a hash, out of everything kept; a STOP of it still holds."""
        async with self._kept.lock:
            await self._kept.commit(forgotten(self._kept.rows, number))

    async def _forget_erased(self) -> None:
        if self._now() - self._forgot < FORGET_EVERY:
            return
        self._forgot = self._now()
        numbers = self._erased()
        for number in numbers:
            await self.forget(number)
            if isinstance(self._line, Remembering):
                try:
                    await self._line.forget(number)
                except Unreachable as error:
                    log.warning("the line could not forget a number yet", line=self._line.name, reason=str(error))
                    return  # the word to forget stays: tried again in a minute
        if numbers:
            await self._kept.commit({ASKED: ""})

    # --- running ----------------------------------------------------------------------------------------------------

    async def _hear(self) -> None:
        wait = 1.0
        while True:
            began = self._now()
            try:
                await self._line.hear(self)
            except Unreachable as error:
                log.warning("the line is gone, trying again", line=self._line.name, reason=str(error), seconds=wait)
            wait = 1.0 if self._now() - began > timedelta(minutes=1) else min(2 * wait, _LONGEST_WAIT_S)
            await self._pause(wait)

    async def _tend(self) -> None:
        """What is due by the clock, and what the channel has to say by itself."""
        while True:
            self._due.clear()
            await self._hearing.expire()
            await self._sending.say_own()
            await self._sending.send_again()
            await self._forget_erased()
            # Not wait_for: in Python 3.11 it may swallow the cancellation that ends us.
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(self._tick_s):
                    await self._due.wait()
