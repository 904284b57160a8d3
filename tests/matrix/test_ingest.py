"""Bringing messages in: nothing lost, nothing twice, and quiet when the homeserver is in trouble."""

from __future__ import annotations

import asyncio

import pytest

from sitebot.channels.matrix import awaited
from sitebot.errors import LoggedOut
from tests.matrix.matrix_echo import Echo
from tests.matrix.matrix_gateway import Change, cut_short, page
from tests.matrix.matrix_people import Clock, answers


def texts(bot):
    return [heard.text for heard in bot.heard]


@pytest.mark.parametrize("encrypted", [False, True])
async def test_all_that_was_missed_comes_in_order(world, encrypted):
    """After a pause in which 230 messages were written, each comes once and in order, past the server's page of 100."""
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    room = await world.room(crew, encrypted=encrypted)
    await crew.say(room, "first")
    await bot.until(lambda: texts(bot) == ["first"])
    await bot.stop()
    missed = [f"m{n}" for n in range(230)]
    for text in missed:
        await crew.say(room, text)
    bot = await world.bot(answers=False)
    await bot.until(lambda: len(bot.heard) >= 230)
    assert texts(bot) == missed


async def test_a_batch_that_was_not_committed_comes_again(world):
    """When the inbox cannot commit, listening ends, the token stands, and the next run brings the same messages."""
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    room = await world.room(crew)
    await crew.say(room, "first")
    await bot.until(lambda: texts(bot) == ["first"])
    await bot.stop()
    await crew.say(room, "second")

    async def full_disk(messages, state):
        raise OSError("disk full")

    failing = Echo(world.store, world.log, world.roster, answers=False)
    failing.keep = full_disk
    with pytest.raises(ExceptionGroup) as caught:
        await failing.run()
    assert caught.group_contains(OSError, match="disk full")
    bot = await world.bot(answers=False)
    await bot.until(lambda: bot.heard)
    assert texts(bot) == ["second"]


async def test_what_was_said_before_the_invitation_is_nobodys_question(world):
    """Of a crew room's talk only what came after the invitation is heard, also what came before we had joined."""
    crew, other = await world.phone("crew"), await world.phone("other")
    await world.log_bot_in()
    room = await crew.create(other.id)
    for n in range(30):
        await crew.say(room, f"old {n}")
    await crew.client.room_invite(room, world.bot_id)
    await crew.say(room, "bot: are you there?")
    bot = await world.bot(answers=False)
    await bot.until(lambda: bot.heard)
    assert texts(bot) == ["bot: are you there?"]


async def test_the_history_at_the_very_first_start_is_left_alone(world):
    """A log begun anew does not answer last week's questions again."""
    crew = await world.phone("crew")
    bot = await world.bot()
    room = await world.room(crew)
    question = await crew.say(room, "old question")
    await crew.answer_to(question, world.bot_id)
    await bot.stop()
    world.log = world.folder / "new.db"
    bot = await world.bot()
    await bot.until(lambda: "sync" in bot.ledger.state())
    new = await crew.say(room, "new question")
    await crew.answer_to(new, world.bot_id)
    assert texts(bot) == ["new question"]
    assert len(answers(crew.seen, question, world.bot_id)) == 1


async def test_a_log_begun_anew_still_answers(world):
    """Keys of the outbox that come again after a new start of the log do not meet the old transaction ids."""
    crew = await world.phone("crew")
    bot = await world.bot()
    room = await world.room(crew)
    await crew.answer_to(await crew.say(room, "one"), world.bot_id)
    await bot.stop()
    world.log = world.folder / "new.db"
    bot = await world.bot()
    await bot.until(lambda: "sync" in bot.ledger.state())
    answer = await crew.answer_to(await crew.say(room, "two"), world.bot_id)
    assert answer.body == "re: two"


async def test_our_own_words_and_bots_notices_are_not_heard(world):
    """Neither what we said nor what another bot says comes in."""
    crew = await world.phone("crew")
    bot = await world.bot()
    room = await world.room(crew)
    await crew.send(room, "m.room.message", {"msgtype": "m.notice", "body": "beep"})
    await crew.answer_to(await crew.say(room, "hello"), world.bot_id)
    await crew.answer_to(await crew.say(room, "again"), world.bot_id)
    assert texts(bot) == ["hello", "again"]


async def test_a_revoked_token_ends_listening(world):
    """When the token is revoked, listening ends with words that say what to do, and without asking again."""
    gateway = await world.behind_gateway()
    await world.log_bot_in()
    bot = await world.bot(answers=False)
    await bot.until(lambda: "sync" in bot.ledger.state())
    await bot.stop()
    bot = await world.bot(answers=False)
    token = bot.channel._client.access_token
    before = gateway.count("/sync")
    world.server.request("POST", "/_matrix/client/v3/logout", {}, token)
    with pytest.raises(ExceptionGroup) as caught:
        await asyncio.gather(*bot._tasks)
    assert caught.group_contains(LoggedOut, match="sitebot matrix login")
    assert gateway.count("/sync") - before <= 2


@pytest.mark.parametrize("answer", [lambda: page(502), lambda: page(200), cut_short, lambda: page(404)])
async def test_a_gateway_in_trouble_is_asked_ever_more_rarely(world, answer):
    """Error pages and cut bodies are waited out with growing pauses; then the message is there."""
    gateway = await world.behind_gateway()
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    room = await world.room(crew)
    await bot.stop()
    clock = Clock()
    gateway.fail("GET .*/sync", answer, times=8)
    bot = await world.bot(answers=False, pause=clock.pause)
    await crew.say(room, "still there?")
    await bot.until(lambda: bot.heard)
    assert texts(bot) == ["still there?"]
    assert len(clock.waits) == 8
    assert clock.waits[0] <= 0.5
    assert clock.waits[7] >= 30
    assert max(clock.waits) <= 60


async def test_a_gap_is_filled_through_a_failing_gateway(world):
    """Failures while the history is read do not leave a hole."""
    gateway = await world.behind_gateway()
    crew = await world.phone("crew")
    bot = await world.bot(answers=False)
    room = await world.room(crew)
    await bot.until(lambda: bot.ledger.state().get(f"room:{room}"))
    await bot.stop()
    missed = [f"m{n}" for n in range(150)]
    for text in missed:
        await crew.say(room, text)
    gateway.fail("GET .*/messages", lambda: page(502), times=2)
    gateway.fail("GET .*/messages", cut_short, times=2)
    bot = await world.bot(answers=False, pause=Clock().pause)
    await bot.until(lambda: len(bot.heard) >= 150)
    assert texts(bot) == missed


@pytest.mark.parametrize("encrypted", [False, True])
async def test_an_answer_goes_out_before_the_next_sync(world, monkeypatch, encrypted):
    """What the homeserver is asked first after it brought a question is to take the answer: it serves one at a time."""
    monkeypatch.setattr(awaited, "LONGEST_S", 60)
    gateway = await world.behind_gateway()
    crew = await world.phone("crew")
    await world.bot()
    room = await world.room(crew, encrypted=encrypted)
    await crew.answer_to(await crew.say(room, "first"), world.bot_id)

    def noted(answer):
        events = answer.get("rooms", {}).get("join", {}).get(room, {}).get("timeline", {}).get("events", [])
        gateway.log += ["QUESTION" for event in events if event["sender"] == crew.id]
        return answer

    gateway.changes.append(Change("GET .*/sync", noted))
    await crew.answer_to(await crew.say(room, "second"), world.bot_id)
    asked = [line for line in gateway.log[gateway.log.index("QUESTION") :] if "/send/m.room" in line or "/sync" in line]
    assert asked[0].startswith("PUT")
