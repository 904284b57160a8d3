"""A message that cannot be delivered is tried for a day, then given up, and the lead hears who it was for."""

import asyncio
from datetime import timedelta

from sitebot.errors import Refused, Unreachable
from sitebot.outbox import GIVE_UP, LEAST_TRIES, send_due


class Down:
    """A wire that takes nothing for some, and everything for the others."""

    name = "memory"

    def __init__(self, *addresses, error=Unreachable):
        self.addresses, self.error, self.sent = addresses, error, []

    async def send(self, out):
        if out.address in self.addresses:
            raise self.error("nobody there")
        self.sent.append(out)
        return out.key


def tried(stage, channel, every, times):
    """So many tries, each a while after the last, with the ticks between."""
    for _ in range(times):
        stage.now += every
        stage.app.tick(stage.name, stage.now)
        asyncio.run(send_due(stage.journal, {"memory": channel, "sms": channel}, stage.now))


def told(stage, channel):
    """What the leads heard about it, in the language of each."""
    leads = {a for p in stage.people() if p.role == "lead" for a in p.addresses}
    signs = ("could not be delivered", "No se pudieron entregar")
    return [o.text for o in channel.sent if o.address in leads and any(s in o.text for s in signs)]


def test_given_up_after_a_day_and_the_lead_hears(stage):
    """Tobin's phone is unreachable: after a day and many tries the message is given up, Garrick hears it once."""
    channel = Down(stage.addresses["Tobin"])
    stage.say("Tobin", "how many today")
    tried(stage, channel, timedelta(minutes=16), LEAST_TRIES)
    assert told(stage, channel) == []
    tried(stage, channel, timedelta(minutes=16), 44)
    assert stage.journal.load().not_sent >= 1
    (text,) = told(stage, channel)
    assert "Tobin" in text


def test_a_refusal_is_told_at_once(stage):
    """A number that takes no messages: given up with the first try, told with the next tick."""
    channel = Down(stage.addresses["Tobin"], error=Refused)
    stage.say("Tobin", "how many today")
    tried(stage, channel, timedelta(minutes=1), 3)
    assert len(told(stage, channel)) == 1


def test_a_clock_that_jumps_gives_nothing_up(stage):
    """The clock jumps two days ahead while a phone is away: the message goes on being tried."""
    channel = Down(stage.addresses["Tobin"])
    stage.say("Tobin", "how many today")
    tried(stage, channel, 2 * GIVE_UP, 3)
    assert stage.journal.load().not_sent == 0
    assert told(stage, channel) == []


def test_no_word_about_a_lost_word(stage):
    """Nobody can be reached at all: what was given up is not told on and on."""
    channel = Down(*stage.names, error=Refused)
    stage.say("Tobin", "how many today")
    tried(stage, channel, timedelta(minutes=1), 5)
    before = stage.journal.load().not_sent
    tried(stage, channel, timedelta(minutes=1), 5)
    assert stage.journal.load().not_sent == before
