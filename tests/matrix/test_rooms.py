"""Rooms: who may invite, who is spoken to, where the answer goes."""

from __future__ import annotations

from tests.matrix.matrix_gateway import page
from tests.matrix.matrix_people import answers


def heard(bot, text):
    """The message with this text, once it has come."""
    return next((message for message in bot.heard if message.text == text), None)


async def test_an_invitation_from_the_roster_is_taken(world):
    """Somebody on the roster invites, the assistant comes."""
    crew = await world.phone("crew")
    await world.bot()
    room = await crew.create(world.bot_id)
    await crew.joined_by(room, world.bot_id)


async def test_an_invitation_from_a_stranger_is_declined(world):
    """A stranger invites, the assistant leaves the invitation, and does not join."""
    stranger = await world.phone("stranger", known=False)
    bot = await world.bot()
    room = await stranger.create(world.bot_id)
    await stranger.until(lambda: memberships(stranger, room, world.bot_id)[-1:] == ["leave"])
    assert "join" not in memberships(stranger, room, world.bot_id)
    await bot.until(lambda: bot.ledger.state().get(f"invite:{room}") == "")


def memberships(phone, room, user):
    members = [e for e in phone.seen if e.source.get("type") == "m.room.member" and e.source["state_key"] == user]
    return [e.source["content"]["membership"] for e in members if e.source.get("room_id", room) == room]


async def test_an_invitation_survives_a_crash(world):
    """An invitation that was kept but not answered is answered by the next process, though the server tells it once."""
    gateway = await world.behind_gateway()
    crew = await world.phone("crew")
    bot = await world.bot()
    await bot.until(lambda: "sync" in bot.ledger.state())
    gateway.fail("POST .*/join", lambda: page(502), times=99)
    room = await crew.create(world.bot_id)
    await bot.until(lambda: bot.ledger.state().get(f"invite:{room}") == crew.id)
    await bot.stop()
    gateway.faults.clear()
    await world.bot()
    await crew.joined_by(room, world.bot_id)


async def test_thrown_out_is_noticed_and_a_new_invitation_works(world):
    """After a kick the room counts as left; after a new invitation it is talked in again, and only from then on."""
    crew = await world.phone("crew")
    bot = await world.bot()
    room = await world.room(crew)
    await crew.client.room_kick(room, world.bot_id)
    await bot.until(lambda: '"joined":false' in bot.ledger.state()[f"room:{room}"])
    await crew.say(room, "while it was out")
    await crew.client.room_invite(room, world.bot_id)
    await crew.until(lambda: memberships(crew, room, world.bot_id)[-1:] == ["join"])
    await crew.answer_to(await crew.say(room, "back?"), world.bot_id)
    assert heard(bot, "while it was out") is None


async def crew_room(world, **options):
    first, second = await world.phone("first"), await world.phone("second")
    bot = await world.bot(**options)
    room = await world.room(first, second)
    return first, second, bot, room


async def test_in_a_crew_room_it_is_known_who_is_spoken_to(world):
    """Name in front, mention, reply to us: addressed; talk among the crew is not. The name in front is taken off."""
    first, _, bot, room = await crew_room(world)
    await first.say(room, "lunch?")
    asked = await first.say(room, f"bot_{world.tag}: how hot?")
    answer = await first.answer_to(asked, world.bot_id)
    await first.say(room, "and for the thick one?", **{"m.relates_to": reply(answer.event_id)})
    await first.say(room, "somebody knows the angle", **{"m.mentions": {"user_ids": [world.bot_id]}})
    await first.say(room, "no, me", **{"m.relates_to": reply(asked)})
    await bot.until(lambda: heard(bot, "no, me"))
    addressed = {message.text: message.addressed for message in bot.heard}
    assert addressed == {
        "lunch?": False,
        "how hot?": True,
        "and for the thick one?": True,
        "somebody knows the angle": True,
        "no, me": False,
    }


def reply(event_id):
    return {"m.in_reply_to": {"event_id": event_id}}


async def test_replies_to_us_are_known_after_a_restart(world):
    """A reply to an answer of a former process is addressed to us, as the server tells whose the answer was."""
    first, _, bot, room = await crew_room(world)
    answer = await first.answer_to(await first.say(room, f"bot_{world.tag} how hot?"), world.bot_id)
    await bot.stop()
    bot = await world.bot()
    await first.say(room, "really?", **{"m.relates_to": reply(answer.event_id)})
    await bot.until(lambda: heard(bot, "really?"))
    assert heard(bot, "really?").addressed


async def test_an_answer_stays_in_the_thread(world):
    """What was asked in a thread is answered in it, also by a process that did not see the thread begin."""
    first, _, bot, room = await crew_room(world, answers=False)
    root = await first.say(room, "wall B3")
    in_thread = {"rel_type": "m.thread", "event_id": root, "is_falling_back": True, **reply(root)}
    question = await first.say(room, f"bot_{world.tag} how many?", **{"m.relates_to": in_thread})
    await bot.until(lambda: heard(bot, "how many?"))
    assert heard(bot, "how many?").thread == root
    await bot.stop()
    await world.bot()
    answer = await first.answer_to(question, world.bot_id)
    tie = answer.source["content"]["m.relates_to"]
    assert (tie["rel_type"], tie["event_id"]) == ("m.thread", root)


async def test_the_asker_is_called_by_the_answer(world):
    """In a crew room the answer is a reply and mentions who asked, and nobody else."""
    first, _, _, room = await crew_room(world)
    answer = await first.answer_to(await first.say(room, f"bot_{world.tag} how hot?"), world.bot_id)
    assert answer.source["content"]["m.mentions"] == {"user_ids": [first.id]}


async def test_a_stranger_in_a_room_is_heard_as_a_stranger(world):
    """A person who is not on the roster is heard under his own address; the app knows what to say to strangers."""
    crew, stranger = await world.phone("crew"), await world.phone("stranger", known=False)
    bot = await world.bot()
    await world.room(crew)
    room = await world.room(crew, stranger)
    await stranger.say(room, f"@bot_{world.tag} let me in")
    await bot.until(lambda: bot.heard)
    assert bot.heard[0].sender == stranger.id
    assert bot.heard[0].addressed


async def test_a_room_becomes_direct_when_the_others_have_left(world):
    """With one other person left, everything is said to us, also after a restart."""
    first, second, bot, room = await crew_room(world)
    await second.client.room_leave(room)
    await bot.until(lambda: second.id not in bot.ledger.state()[f"room:{room}"])
    await bot.stop()
    bot = await world.bot()
    question = await first.say(room, "just us now")
    await first.answer_to(question, world.bot_id)
    assert heard(bot, "just us now").addressed
    assert len(answers(first.seen, question, world.bot_id)) == 1
