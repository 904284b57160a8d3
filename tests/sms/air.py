"""A stage whose people text over the air: the pseudo terminal's modem, a real gammu-smsd. Only the clock is moved."""

import asyncio

from sitebot.channels.sms.channel import SmsChannel
from sitebot.channels.sms.hearing import Here
from sitebot.channels.sms.line import Step
from sitebot.channels.sms.modem import Modem
from sitebot.numbers import e164
from sitebot.outbox import send_due
from sitebot.stage import SITE, Stage
from sitebot.switchboard import contact_of
from tests.sms.office import settings, until


class AirStage(Stage):
    """``modem``: what the tests' radio is. What its people hear is what went through the air."""

    def __init__(self, site, start, modem):
        super().__init__(site, start)
        self.modem, self.loop = modem, asyncio.new_event_loop()
        self.handed, self.before, self.kept = [], len(modem.on_air()), 0
        here = Here(site.name, site.tz, site.region, site.language, site.emergency_number, site.address)
        line = Modem(modem.daemon.config.url, modem.daemon.config.phone, poll_s=0.1)
        self.channel = self.sms = SmsChannel(
            # The clock stands still between two lines: nobody can wait for room in the rate.
            settings(parts_per_second=1000, burst=1000),
            {},
            here,
            lambda number: contact_of(self.journal, number),
            line=line,
            now=lambda: self.now,
            tick_s=0.1,
        )
        self.listening = self.loop.create_task(self.sms.listen(self._keep))
        self.loop.run_until_complete(asyncio.sleep(0))

    async def _keep(self, messages, rows):
        for row in self.journal.keep(SITE, messages, rows, "sms"):
            self.app.handle(SITE, row, self.now)
        self.kept += len(messages)

    def say(self, sender, text, written_at=None):
        address = self.addresses.get(sender) or e164(sender, self.site.region) or sender
        self.names.setdefault(address, sender)
        before = self.kept
        self.modem.receive(address, text, ref=before % 256, when=written_at or self.now)
        # One at a time, as the wire brings them; what our side could not answer ends the wait at once.
        came = lambda: self.kept > before or self.listening.done()  # noqa: E731
        self.loop.run_until_complete(until(came, 90, f"{text!r} came in"))
        if self.listening.done():
            self.listening.result()

    def sent(self):
        times = {out.key: at for at, out in self.journal.queued_at(self.name)}
        recorded = _Recorded(self.sms)
        self.loop.run_until_complete(send_due(self.journal, {"sms": recorded}, self.now))
        self.handed += recorded.sent
        return [(times.get(o.key, self.now), o) for o in recorded.sent]

    def heard(self):
        """What its people have heard, as (number, text), once all that was handed over is on air."""
        waits = lambda: [s for s in self.sms._kept.ledger.all() if s.step == Step.QUEUED]  # noqa: E731
        self.loop.run_until_complete(until(lambda: not waits(), 180, "the last text on air"))
        return joined(self.modem.on_air()[self.before :])

    def close(self):
        self.listening.cancel()
        self.loop.run_until_complete(asyncio.gather(self.listening, return_exceptions=True))
        self.loop.close()


class _Recorded:
    """The channel, with what it took."""

    name = "sms"

    def __init__(self, channel):
        self.channel, self.sent = channel, []

    async def send(self, out):
        ref = await self.channel.send(out)
        self.sent.append(out)
        return ref


def joined(events):
    """Parts on air as whole texts: (number, text), in the order of their last parts."""
    texts, halves = [], {}
    for event in events:
        if not event["header"]:
            texts.append((event["to"], event["text"]))
            continue
        reference, total, place = bytes.fromhex(event["header"])[2:5]
        half = halves.setdefault((event["to"], reference), {})
        half[place] = event["text"]
        if len(half) == total:
            texts.append((event["to"], "".join(half[n] for n in sorted(half))))
            del halves[event["to"], reference]
    assert not halves, halves
    return texts
