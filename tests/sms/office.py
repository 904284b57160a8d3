"""The rest of the program, as little of it as the channel needs: an inbox that knows repeats, kept state, a roster."""

import asyncio
import contextlib
import time
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from sitebot.channels.sms.channel import SmsChannel
from sitebot.channels.sms.hearing import Contact, Here
from sitebot.channels.sms.line import Step
from sitebot.channels.sms.settings import SmsSettings
from sitebot.message import Outgoing

HERE = Here("Tank 2", ZoneInfo("America/Denver"), "US", "en", "911", "Gate 3, Mesa Road")
AMARO, WILDA, STRANGER = "+13035550162", "+13035550161", "+13035550199"
PEOPLE = {AMARO: Contact("es"), WILDA: Contact("en")}
NOON = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)


def settings(line=None, **values):
    line = line or {"kind": "modem", "smsdrc": "unused"}
    return SmsSettings.model_validate({"line": line, "contact": WILDA, "own": ["+15550000000"], **values})


def texted(to, text, key="k1", kind="reply", reply_to=""):
    return Outgoing(key, "sms", to, text, kind, reply_to=reply_to)


class Office:
    """Keeps what a channel brings, as the journal would; survives the channel."""

    def __init__(self):
        self.inbox, self.state, self.repeats = {}, {}, 0
        self.broken = 0
        self.people = dict(PEOPLE)

    async def keep(self, messages, rows):
        if self.broken:
            self.broken -= 1
            raise RuntimeError("no database")
        for message in messages:
            self.repeats += message.external_id in self.inbox
            self.inbox.setdefault(message.external_id, message)
        self.state = {key: row for key, row in (self.state | rows).items() if row}

    @property
    def texts(self):
        return [m.text for m in self.inbox.values()]

    def channel(self, line, greeted=(AMARO, WILDA, STRANGER), with_=None, **options):
        """The channel on a line, with further settings; ``greeted`` know us already."""
        for number in greeted:
            self.state.setdefault(f"who/{number}", '{"greeted": "before"}')
        return SmsChannel(settings(**with_ or {}), self.state, HERE, self.people.get, line=line, tick_s=0.05, **options)

    @contextlib.asynccontextmanager
    async def open(self, line, **options):
        """The same, listening."""
        channel = self.channel(line, **options)
        task = asyncio.create_task(channel.listen(self.keep))
        await asyncio.sleep(0)
        try:
            yield channel
            if task.done():
                task.result()
        finally:
            task.cancel()
            with contextlib.suppress(asyncio.CancelledError, RuntimeError):
                await task


async def until(condition, seconds=15.0, what="it"):
    """The first true value; polled, with a deadline."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if value := condition():
            return value
        await asyncio.sleep(0.02)
    raise AssertionError(f"{what} did not happen within {seconds} s")


def steps(channel):
    """How far each message has come, by the beginning of its text or its ref."""
    return {s.ref.rsplit(".", 1)[0]: s.step for s in channel._kept.ledger.all()}


async def come(channel, key, step, seconds=15.0):
    await until(lambda: steps(channel).get(key) == step, seconds, f"{key} {Step(step).name}: {steps(channel)}")


class PaperLine:
    """A line in memory: what is sent stays on paper; a test plays the network."""

    name = "paper"

    def __init__(self):
        self.sent, self.fails, self.counter = [], [], None
        self.open = asyncio.Event()

    async def hear(self, counter):
        self.counter = counter
        self.open.set()
        await asyncio.Event().wait()

    async def send(self, letter, accepted):
        if self.fails and (error := self.fails.pop(0)):
            raise error
        self.sent.append(letter)
        for place in range(len(letter.parts)):
            if place not in letter.accepted:
                await accepted(place, f"{letter.ref}/{place}", Step.SENT)

    @property
    def texts(self):
        return [letter.text for letter in self.sent]
