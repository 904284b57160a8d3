"""The way out: in order within a room, and no room waits for another."""

from __future__ import annotations

import asyncio
from datetime import timedelta

import pytest

from sitebot.errors import LoggedOut, Unreachable
from sitebot.message import Outgoing
from sitebot.outbox import WAITS, Lanes, send_due


class Wire:
    """A channel that sends rooms side by side; a room may hang, fail or be logged out."""

    name = "memory"
    sends_side_by_side = True

    def __init__(self, hangs=(), fails=(), gone=()):
        self.hangs, self.fails, self.gone, self.sent = set(hangs), set(fails), set(gone), []

    async def send(self, out):
        await asyncio.sleep(0)
        if out.room in self.hangs:
            await asyncio.Event().wait()
        if out.room in self.fails or out.text in self.fails:
            raise Unreachable("no")
        if out.room in self.gone:
            raise LoggedOut("gone")
        self.sent.append(out)
        return out.key


def queue(stage, *texts, room="!a"):
    with stage.journal.turn(stage.name, stage.now) as turn:
        turn.queue([Outgoing(f"{room}-{text}", "memory", "@x", text, room=room) for text in texts])


async def settle(lanes, stage, rounds=20):
    for _ in range(rounds):
        lanes.start(stage.now)
        await asyncio.sleep(0)


@pytest.fixture
async def lanes(stage):
    made = []

    def make(wire):
        made.append(Lanes(stage.journal, {"memory": wire}, lambda: True, lambda: None))
        return made[-1]

    yield make
    for one in made:
        await one.stop()


async def test_a_room_that_hangs_holds_up_no_other(stage, lanes):
    """While one room's message is under way for ever, the other room has all of its own, in order."""
    queue(stage, "1", room="!a")
    queue(stage, "1", "2", "3", room="!b")
    wire = Wire(hangs={"!a"})
    await settle(lanes(wire), stage)
    assert [(o.room, o.text) for o in wire.sent] == [("!b", t) for t in "123"]


async def test_what_fails_holds_its_room_and_no_other(stage, lanes):
    """The second message of a room does not overtake the first that failed; the other room goes on."""
    queue(stage, "bad", "2", room="!a")
    queue(stage, "1", room="!b")
    wire = Wire(fails={"bad"})
    await settle(lanes(wire), stage)
    assert [(o.room, o.text) for o in wire.sent] == [("!b", "1")]
    wire.fails.clear()
    stage.now += timedelta(seconds=WAITS[0])
    await settle(lanes(wire), stage)
    assert [o.text for o in wire.sent if o.room == "!a"] == ["bad", "2"]


async def test_order_is_kept_between_people_of_one_room(stage):
    """Two people's answers in one room are one order: the second waits for the first that failed."""
    with stage.journal.turn(stage.name, stage.now) as turn:
        turn.queue([Outgoing(key, "memory", who, key, room="!a") for key, who in (("bad", "@x"), ("2", "@y"))])
    wire = Wire(fails={"bad"})
    await send_due(stage.journal, {"memory": wire}, stage.now)
    assert await send_due(stage.journal, {"memory": wire}, stage.now) == 0
    assert wire.sent == []


async def test_what_never_gets_through_does_not_silence_its_room(stage):
    """After a good hour of tries the rest of the room goes out before it; it is still tried."""
    queue(stage, "bad", "2")
    wire = Wire(fails={"bad"})
    for wait in (0, *WAITS, WAITS[-1]):
        stage.now += timedelta(seconds=wait)
        await send_due(stage.journal, {"memory": wire}, stage.now)
    await send_due(stage.journal, {"memory": wire}, stage.now)
    assert [o.text for o in wire.sent] == ["2"]
    wire.fails.clear()
    stage.now += timedelta(seconds=WAITS[-1])
    await send_due(stage.journal, {"memory": wire}, stage.now)
    assert [o.text for o in wire.sent] == ["2", "bad"]


async def test_when_the_wire_is_back_nobody_waits_for_his_next_try(stage, lanes):
    """Four rooms failed for a quarter of an hour and wait minutes; with the first success all go out at once."""
    rooms = ["!a", "!b", "!c", "!d"]
    for room in rooms:
        queue(stage, "1", room=room)
    wire = Wire(fails=rooms)
    sending = lanes(wire)
    for wait in (0, *WAITS, *WAITS[-1:] * 2):
        stage.now += timedelta(seconds=wait)
        await settle(sending, stage)
    wire.fails.clear()
    stage.now += timedelta(seconds=1)
    await settle(sending, stage)
    assert wire.sent == []
    queue(stage, "new", room="!e")
    await settle(sending, stage)
    assert [o.room for o in wire.sent] == ["!e", *rooms]


async def test_a_room_that_fails_alone_is_not_hurried(stage, lanes):
    """One room fails while others go on: it keeps its waits, however much is sent elsewhere."""
    queue(stage, "bad", room="!a")
    wire = Wire(fails={"bad"})
    sending = lanes(wire)
    await settle(sending, stage)
    wire.fails.clear()
    queue(stage, "1", room="!b")
    await settle(sending, stage)
    assert [o.room for o in wire.sent] == ["!b"]


async def test_a_room_with_thousands_does_not_hide_the_others(stage, lanes):
    """Two thousand messages before it in another room: it goes out in the first round."""
    queue(stage, *map(str, range(2000)), room="!a")
    queue(stage, "1", room="!b")
    wire = Wire()
    sending = lanes(wire)
    sending.start(stage.now)
    await settle(sending, stage, 3)
    assert "!b" in [o.room for o in wire.sent]


async def test_a_lost_login_ends_the_sending(stage, lanes):
    """One lane hears that the account is gone: the channel is told."""
    queue(stage, "1")
    sending = lanes(Wire(gone={"!a"}))
    with pytest.raises(LoggedOut):
        await settle(sending, stage)


async def test_a_channel_that_cannot_sends_one_after_the_other(stage, lanes):
    """A telephone line is one lane."""
    queue(stage, "1", room="!a")
    queue(stage, "1", room="!b")
    wire = Wire(hangs={"!a"})
    wire.sends_side_by_side = False
    await settle(lanes(wire), stage)
    assert wire.sent == []


async def test_a_row_knows_when_it_was_queued(stage):
    """The channel sees the age of what it sends."""
    queue(stage, "1")
    wire = Wire()
    queued = stage.now
    stage.now += timedelta(days=2)
    await send_due(stage.journal, {"memory": wire}, stage.now)
    assert [o.queued_at for o in wire.sent] == [queued]
