"""Sending: once, in order, at the speed the homeserver allows, and never in clear text where it was encrypted."""

from __future__ import annotations

import asyncio
import sqlite3
from datetime import UTC, datetime, timedelta

import nio
import pytest

from sitebot.errors import Refused, Unreachable
from sitebot.message import Outgoing
from tests.matrix.matrix_gateway import page, slow_down
from tests.matrix.matrix_people import Clock, answers

NOW = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)


def row(key, room, text="answer", **more):
    return Outgoing(key, "matrix", "@somebody:hs.test", text, room=room, queued_at=datetime.now(UTC), **more)


def bodies(phone, sender):
    return [event.body for event in phone.said_by(sender)]


async def talking(world, *, encrypted=False, **options):
    """A bot that only sends, and a person in a room with it."""
    crew = await world.phone("crew")
    bot = await world.bot(answers=False, **options)
    room = await world.room(crew, encrypted=encrypted)
    await bot.until(lambda: bot.ledger.state().get(f"room:{room}"))
    return crew, bot, room


@pytest.mark.parametrize("encrypted", [False, True])
async def test_the_same_row_is_one_event(world, encrypted):
    """A row sent ten times at once, and again by the next process, stands in the room once."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    ids = set(await asyncio.gather(*(bot.channel.send(row("7-r", room)) for _ in range(10))))
    await bot.stop()
    bot = await world.bot(answers=False)
    ids.add(await bot.channel.send(row("7-r", room)))
    await bot.channel.send(row("end", room, "end"))
    await crew.until(lambda: "end" in bodies(crew, world.bot_id))
    assert len(ids) == 1
    assert bodies(crew, world.bot_id) == ["answer", "end"]


async def test_an_answer_the_gateway_lost_is_not_given_twice(world):
    """The homeserver took it, the gateway lost its yes: the row goes back and is the same event when sent again."""
    gateway = await world.behind_gateway()
    crew, bot, room = await talking(world)
    gateway.fail("PUT .*/send/m.room.message", lambda: page(502), behind=True)
    with pytest.raises(Unreachable):
        await bot.channel.send(row("1-r", room))
    await bot.channel.send(row("1-r", room))
    await bot.channel.send(row("end", room, "end"))
    await crew.until(lambda: "end" in bodies(crew, world.bot_id))
    assert bodies(crew, world.bot_id) == ["answer", "end"]


@pytest.mark.parametrize("encrypted", [False, True])
async def test_an_old_row_is_looked_for_before_it_is_sent_again(world, encrypted):
    """A row older than the server's memory of transaction ids is found in the room; one that is not there is sent."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    first = await bot.channel.send(row("1-r", room))
    forget_transactions(world.server)
    long_ago = datetime.now(UTC) - timedelta(days=2)
    old = Outgoing("1-r", "matrix", "@somebody:hs.test", "answer", room=room, queued_at=long_ago)
    assert await bot.channel.send(old) == first
    never_sent = Outgoing("2-r", "matrix", "@somebody:hs.test", "late", room=room, queued_at=long_ago)
    await bot.channel.send(never_sent)
    await crew.until(lambda: "late" in bodies(crew, world.bot_id))
    assert bodies(crew, world.bot_id) == ["answer", "late"]


def forget_transactions(server):
    """What the server does to its transaction ids every day; its cache of recent requests goes by a crash."""
    server.kill()
    with sqlite3.connect(server.folder / "hs.db") as db:
        assert db.execute("delete from event_txn_id_device_id").rowcount > 0
    server.start()


async def test_the_server_forgets_transaction_ids(world):
    """Without the look into the room a forgotten transaction id makes a second message; so the look is needed."""
    _, bot, room = await talking(world)
    first = await bot.channel.send(row("1-r", room))
    forget_transactions(world.server)
    assert await bot.channel.send(row("1-r", room)) != first


async def test_a_rate_limit_is_obeyed(world):
    """When told to wait, nothing is sent before the time is up, in no room; then everything is, in order."""
    gateway = await world.behind_gateway()
    clock = Clock()
    crew, bot, room = await talking(world, pause=clock.pause)
    gateway.fail("PUT .*/send/m.room.message", lambda: slow_down(7000), times=2)
    await asyncio.gather(*(bot.channel.send(row(str(n), room, f"n{n}")) for n in range(4)))
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 4)
    assert bodies(crew, world.bot_id) == ["n0", "n1", "n2", "n3"]
    assert clock.waits[:2] == [pytest.approx(7, abs=0.5), pytest.approx(7, abs=0.5)]


async def test_a_rate_limit_without_end_gives_the_row_back(world):
    """The outbox gets its row back as Unreachable when the homeserver lets nothing through."""
    gateway = await world.behind_gateway()
    _, bot, room = await talking(world, pause=Clock().pause)
    gateway.fail("PUT .*/send/m.room.message", lambda: slow_down(20_000), times=99)
    with pytest.raises(Unreachable):
        await bot.channel.send(row("1", room))


async def test_a_room_keeps_its_order_and_rooms_run_side_by_side(world):
    """One room's rows stay in order while another room does not wait for them."""
    gateway = await world.behind_gateway()
    crew, bot, slow = await talking(world)
    fast = await world.room(crew)
    await bot.until(lambda: bot.ledger.state().get(f"room:{fast}"))
    sends = [bot.channel.send(row(f"s{n}", slow, f"s{n}")) for n in range(30)]
    tasks = [asyncio.create_task(send) for send in sends]
    await bot.channel.send(row("f", fast, "fast"))
    assert not all(task.done() for task in tasks)
    await asyncio.gather(*tasks)
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 31)
    assert [body for body in bodies(crew, world.bot_id) if body != "fast"] == [f"s{n}" for n in range(30)]
    assert gateway.count("PUT .*/send/m.room.message") == 31


async def test_a_message_in_pieces_is_not_interrupted(world):
    """The pieces of a long message stand together, with the next one sent at the same time; an old row comes first."""
    crew, bot, room = await talking(world)
    long = "\n".join(["x" * 9000, "y" * 9000])
    old = Outgoing("0", "matrix", crew.id, "old", room=room, queued_at=datetime.now(UTC) - timedelta(days=2))
    await asyncio.gather(*(bot.channel.send(one) for one in (old, row("1", room, long), row("2", room, "short"))))
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 4)
    assert [body[:5] for body in bodies(crew, world.bot_id)] == ["old", "xxxxx", "yyyyy", "short"]


async def test_a_room_we_are_not_in_is_refused_in_words(world):
    """A message for a room we were thrown out of is refused; the words say what to do."""
    crew, bot, room = await talking(world)
    await crew.client.room_kick(room, world.bot_id)
    await bot.until(lambda: '"joined":false' in bot.ledger.state()[f"room:{room}"])
    with pytest.raises(Refused, match="invite"):
        await bot.channel.send(row("1", room))


async def test_before_the_first_sync_a_row_waits(world):
    """A row of the outbox is not lost when it comes before the homeserver has been heard."""
    await world.log_bot_in()
    gateway = await world.behind_gateway()
    bot = await world.bot(answers=False)
    assert gateway.count(".") == 0
    with pytest.raises(Unreachable):
        await bot.channel.send(row("1", "!room"))


async def test_a_long_text_goes_in_pieces_and_halves_of_characters_do_no_harm(world):
    """Texts beyond what an event holds arrive whole; a lone surrogate does not make the server fail."""
    crew, bot, room = await talking(world, encrypted=True)
    text = "\n".join(f"line {n} " + "x" * 90 for n in range(500)) + "\ud83d end"
    await bot.channel.send(row("1", room, text))
    await crew.until(lambda: bodies(crew, world.bot_id) and bodies(crew, world.bot_id)[-1].endswith(" end"))
    assert "\n".join(bodies(crew, world.bot_id)) == text.replace("\ud83d", "?")


async def test_markup_of_a_sender_is_not_echoed(world):
    """The HTML body is our text with everything escaped, and nobody is called by what somebody wrote."""
    crew, bot, room = await talking(world)
    await bot.channel.send(row("1", room, '<b>3</b> butts & "@room"\nnext'))
    await crew.until(lambda: bodies(crew, world.bot_id))
    content = crew.said_by(world.bot_id)[0].source["content"]
    assert content["formatted_body"] == '&lt;b&gt;3&lt;/b&gt; butts &amp; "@room"<br>next'
    assert content["body"] == '<b>3</b> butts & "@room"\nnext'
    assert content["m.mentions"] == {}


async def test_a_person_without_a_room_gets_a_direct_one(world):
    """A reminder for somebody who never wrote opens one encrypted room; he can read what was said before he joined."""
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    await bot.until(lambda: "sync" in bot.ledger.state())
    out = [
        Outgoing(f"c{n}", "matrix", crew.id, f"unplug {n}", "reminder", queued_at=datetime.now(UTC)) for n in range(2)
    ]
    await asyncio.gather(*(bot.channel.send(one) for one in out))
    await crew.until(lambda: crew.client.invited_rooms)
    (room,) = crew.client.invited_rooms
    await crew.client.join(room)
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 2)
    assert bodies(crew, world.bot_id) == ["unplug 0", "unplug 1"]
    assert all(event.decrypted for event in crew.said_by(world.bot_id))
    await bot.until(lambda: '"join"' in bot.ledger.state()[f"room:{room}"])
    await bot.stop()
    bot = await world.bot(answers=False)
    await bot.channel.send(Outgoing("c3", "matrix", crew.id, "again", "reminder", queued_at=datetime.now(UTC)))
    await crew.until(lambda: "again" in bodies(crew, world.bot_id))
    assert crew.said_by(world.bot_id)[-1].source["room_id"] == room


async def test_a_person_invited_before_a_restart_can_read_all(world):
    """Somebody invited but not yet in the room gets the keys of what is said after our restart, too."""
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    await bot.until(lambda: "sync" in bot.ledger.state())
    await bot.channel.send(Outgoing("a", "matrix", crew.id, "before", "reminder", queued_at=datetime.now(UTC)))
    await bot.until(lambda: any('"invite"' in value for value in bot.ledger.state().values()))
    await bot.stop()
    bot = await world.bot(answers=False)
    await bot.channel.send(Outgoing("b", "matrix", crew.id, "after", "reminder", queued_at=datetime.now(UTC)))
    await crew.until(lambda: crew.client.invited_rooms)
    (room,) = crew.client.invited_rooms
    await crew.client.join(room)
    await crew.until(lambda: len([e for e in crew.seen if e.sender == world.bot_id and hasattr(e, "body")]) == 2)
    assert bodies(crew, world.bot_id) == ["before", "after"]
    assert not [e for e in crew.seen if isinstance(e, nio.MegolmEvent)]
    assert answers(crew.seen, "", world.bot_id) == []
