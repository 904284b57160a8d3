"""Keys: each defect of the library that leaves somebody unable to read, or puts clear text where it was encrypted."""

from __future__ import annotations

import asyncio
import uuid

import nio
import pytest

from sitebot.channels.matrix import cross_signing
from sitebot.channels.matrix.account import load, save
from sitebot.errors import ChannelError, LoggedOut, Refused, Unreachable
from tests.matrix.matrix_gateway import page, slow_down
from tests.matrix.matrix_people import new_phone
from tests.matrix.test_sending import bodies, row, talking


def unreadable(phone):
    return [event for event in phone.seen if isinstance(event, nio.MegolmEvent)]


async def test_a_device_that_has_just_appeared_reads_the_next_message(world):
    """A second phone logged in a moment ago reads what is said next: keys are looked up before a send."""
    crew, bot, room = await talking(world, encrypted=True)
    await bot.channel.send(row("1", room, "before"))
    await crew.until(lambda: bodies(crew, world.bot_id))
    client = bot.channel._client

    async def put_off():
        pass

    # The news of the device has come, and the round that asks for its keys has not.
    client.housekeeping = put_off
    second = await new_phone(world.server, crew.id, world.folder / "second")
    world.on_end(second.client.close)
    await bot.until(lambda: crew.id in client.olm.users_for_key_query)
    await bot.channel.send(row("2", room, "after"))
    await second.until(lambda: "after" in bodies(second, world.bot_id))


async def test_many_sends_at_once_pass_the_change_of_keys(world):
    """120 messages at once into one encrypted room arrive readable: the keys change at a hundred."""
    crew, bot, room = await talking(world, encrypted=True)
    client, content = bot.channel._client, {"msgtype": "m.text"}
    sends = [client.room_send(room, "m.room.message", content | {"body": f"m{n}"}) for n in range(120)]
    done, _ = await asyncio.gather(
        asyncio.gather(*sends), crew.until(lambda: len(bodies(crew, world.bot_id)) == 120, 40)
    )
    assert all(isinstance(answer, nio.RoomSendResponse) for answer in done)
    assert unreadable(crew) == []


async def test_a_send_given_up_while_sharing_keys_does_not_block_the_room(world):
    """A send cancelled in the middle of sharing the room's key leaves nothing behind on which the next would wait."""
    gateway = await world.behind_gateway()
    crew, bot, room = await talking(world, encrypted=True)
    client, held = bot.channel._client, asyncio.Event()
    original = client.keys_claim

    async def never(users):
        held.set()
        await asyncio.Event().wait()

    client.keys_claim = never
    task = asyncio.create_task(client.room_send(room, "m.room.message", {"msgtype": "m.text", "body": "x"}))
    await held.wait()
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    client.keys_claim = original
    async with asyncio.timeout(60):
        await bot.channel.send(row("1", room, "still open"))
    await crew.until(lambda: bodies(crew, world.bot_id) == ["still open"])
    assert gateway.count("sendToDevice/m.room.encrypted") >= 1


@pytest.mark.parametrize("answer", [lambda: page(502), lambda: slow_down(10)])
async def test_a_key_the_server_did_not_pass_on_is_shared_again(world, answer):
    """When the room's key does not get through, the message is not sent under it: nobody could read it."""
    gateway = await world.behind_gateway()
    crew, bot, room = await talking(world, encrypted=True)
    gateway.fail("PUT .*/sendToDevice/m.room.encrypted", answer)
    with pytest.raises(Unreachable):
        await bot.channel.send(row("1", room, "readable?"))
    await bot.channel.send(row("1", room, "readable?"))
    await crew.until(lambda: bodies(crew, world.bot_id) or unreadable(crew))
    assert bodies(crew, world.bot_id) == ["readable?"]
    assert unreadable(crew) == []


async def test_lost_answers_to_key_uploads_do_not_wedge_us(world):
    """The server has keys whose upload we do not know of: later uploads skip their ids instead of failing for ever."""
    crew, bot, room = await talking(world, encrypted=True)
    client = bot.channel._client
    await bot.stop()
    # The crash: keys on the server, the account as it was before.
    before = (world.store / f"{world.bot_id}_{client.device_id}.db").read_bytes()
    channel = (await world.bot(answers=False)).channel
    await claim_keys(world, 10)
    channel._client.olm.uploaded_key_count = 40
    assert isinstance(await channel._client.keys_upload(), nio.KeysUploadResponse)
    for other in world._bots:
        await other.stop()
    (world.store / f"{world.bot_id}_{client.device_id}.db").write_bytes(before)
    await claim_keys(world, 20)
    bot = await world.bot(answers=False)
    for text in ("readable", "and again"):
        await crew.say(room, text)
        await bot.until(lambda text=text: bot.heard and bot.heard[-1].text == text)
    assert bot.channel._client.olm.uploaded_key_count == 50


async def claim_keys(world, count):
    """What anybody may do: take one-time keys of the assistant's device."""
    thief = await world.phone("thief" + uuid.uuid4().hex[:4], known=False)
    device = load(world.store).device
    for _ in range(count):
        body = {"one_time_keys": {world.bot_id: {device: "signed_curve25519"}}}
        thief.raw("POST", "/_matrix/client/v3/keys/claim", body)


async def test_drained_one_time_keys_are_refilled(world):
    """After a stranger took all one-time keys of the offline assistant, it makes new ones and new people reach it."""
    await world.log_bot_in()
    await claim_keys(world, 51)
    crew, bot, room = await talking(world, encrypted=True)
    await crew.say(room, "heard?")
    await bot.until(lambda: bot.heard)
    assert bot.heard[0].text == "heard?"


async def test_no_clear_text_into_a_room_once_seen_encrypted(world):
    """With a fresh key store and a stored sync token the library would send clear text; here nothing is sent so."""
    crew, bot, room = await talking(world, encrypted=True)
    await bot.channel.send(row("1", room, "secret 1"))
    await bot.stop()
    for file in world.store.glob("*.db*"):
        file.unlink()
    await world.log_bot_in()
    bot = await world.bot(answers=False)
    assert not bot.channel._client.olm.outbound_group_sessions
    await bot.channel.send(row("2", room, "secret 2"))
    bot.channel._client.rooms[room].encrypted = False
    await bot.channel.send(row("3", room, "secret 3"))
    bot.channel._client.olm = None
    with pytest.raises(Refused, match="encrypted"):
        await bot.channel.send(row("4", room, "secret 4"))
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 3)
    assert [event.decrypted for event in crew.said_by(world.bot_id)] == [True] * 3


async def test_a_state_that_takes_encryption_back_is_not_believed(world):
    """Whatever a later state says: a room that was encrypted stays so for us, also over a restart."""
    crew, bot, room = await talking(world, encrypted=True)
    world.server.request(
        "PUT", f"/_matrix/client/v3/rooms/{room}/state/m.room.encryption/", {}, crew.client.access_token
    )
    await crew.say(room, "seen?")
    await bot.until(lambda: bot.heard)
    await bot.stop()
    bot = await world.bot(answers=False)
    await bot.channel.send(row("1", room, "secret"))
    await crew.until(lambda: bodies(crew, world.bot_id))
    assert crew.said_by(world.bot_id)[0].decrypted


async def test_a_lost_key_store_ends_in_words_and_a_login_makes_a_new_device(world):
    """Without its key store the old device would stay deaf: start says so; after a login people reach the new one."""
    crew, bot, room = await talking(world, encrypted=True)
    await bot.stop()
    old = load(world.store)
    old.key_store(world.store).unlink()
    with pytest.raises(LoggedOut, match="sitebot matrix login"):
        await world.bot()
    console = await world.log_bot_in()
    new = load(world.store)
    assert new.device != old.device
    assert any("signed" in line for line in console.lines)
    await world.bot()
    await crew.sync()  # brings the news that the assistant has another device
    answer = await crew.answer_to(await crew.say(room, "new phone?"), world.bot_id)
    assert answer.decrypted
    found = crew.raw("POST", "/_matrix/client/v3/keys/query", {"device_keys": {world.bot_id: []}})
    assert list(found["device_keys"][world.bot_id]) == [new.device]


async def test_the_key_store_opens_with_its_own_passphrase_only(world):
    """The library's default passphrase does not open the store; a wrong one ends in words."""
    await world.log_bot_in()
    account = load(world.store)
    for wrong in ("DEFAULT_KEY", "other"):
        save(account.model_copy(update={"passphrase": wrong}), world.store)
        with pytest.raises(ChannelError, match="passphrase"):
            await world.bot()


async def test_secrets_are_the_owners_only(world):
    """Account and identity can be read by the owner only; neither token nor passphrase is in the account's text."""
    await world.log_bot_in()
    for name in ("account.json", "identity.json"):
        assert (world.store / name).stat().st_mode & 0o077 == 0
    account = load(world.store)
    assert account.token not in f"{account} {account!r}"
    assert account.passphrase not in f"{account} {account!r}"


async def test_a_second_process_is_kept_out(world):
    """The device belongs to one process: two would steal each other's keys."""
    bot = await world.bot()
    await bot.until(lambda: "sync" in bot.ledger.state())
    with pytest.raises(Refused, match="Another process"):
        await world.bot()


async def test_a_late_key_opens_the_message(world):
    """A message that comes before its key is kept, over a restart too, and read when the key comes."""
    crew, bot, room = await talking(world, encrypted=True)
    await crew.say(room, "warm")
    await bot.until(lambda: bot.heard)
    late = hold_key_back(crew, room)
    event = await crew.say(room, "the key is late")
    await bot.until(lambda: f"unread:{event}" in bot.ledger.state())
    assert [message.text for message in bot.heard] == ["warm"]
    await bot.stop()
    bot = await world.bot(answers=False)
    for body in late:
        crew.raw("PUT", f"/_matrix/client/v3/sendToDevice/m.room.encrypted/{uuid.uuid4()}", body)
    await bot.until(lambda: bot.heard)
    assert (bot.heard[0].text, bot.heard[0].external_id) == ("the key is late", event)
    assert bot.ledger.state()[f"unread:{event}"] == ""


def hold_key_back(phone, room):
    """Make a new key for the room and do not send it; what was to be sent."""
    olm = phone.client.olm
    olm.create_outbound_group_session(room)
    users = list(phone.client.rooms[room].users)
    bodies = [body for _, body in olm.share_group_session_parallel(room, users, ignore_unverified_devices=True)]
    olm.outbound_group_sessions[room].shared = True
    return bodies


async def test_a_key_that_never_comes_is_asked_for_once(world, monkeypatch):
    """After a while the app is told that nobody can read it, once, so that the person is asked to write again."""
    from datetime import timedelta

    from sitebot.channels.matrix import unread

    crew, bot, room = await talking(world, encrypted=True)
    await crew.say(room, "warm")
    await bot.until(lambda: bot.heard)
    monkeypatch.setattr(unread, "PATIENCE", timedelta(0))
    hold_key_back(crew, room)
    event = await crew.say(room, "lost")
    await bot.until(lambda: len(bot.heard) == 2)
    assert (bot.heard[1].unreadable, bot.heard[1].text, bot.heard[1].external_id) == (True, "", event + "#unreadable")
    hold_key_back(crew, room)
    crew.client.olm.outbound_group_sessions.pop(room)
    await crew.say(room, "end")
    await bot.until(lambda: bot.heard[-1].text == "end")
    assert len(bot.heard) == 3


async def test_another_identity_of_the_account_is_not_replaced_unasked(world):
    """Where the account has an identity that is not ours, crews would be frightened: only an explicit reset does it."""
    await world.log_bot_in()
    before = cross_signing.identity(world.store)["master"].public
    world.store = world.folder / "elsewhere"
    console = await world.log_bot_in()
    assert any("ATTENTION" in line and "--reset-identity" in line for line in console.lines)
    found = world.server.request(
        "POST", "/_matrix/client/v3/keys/query", {"device_keys": {world.bot_id: []}}, load(world.store).token
    )[1]
    assert list(found["master_keys"][world.bot_id]["keys"].values()) == [before]


async def test_an_identity_is_signed_once(world):
    """Signing again changes nothing; the answer says whether anything had to be done."""
    bot = await world.bot(answers=False)
    await bot.until(lambda: "sync" in bot.ledger.state())
    assert await cross_signing.ensure_cross_signed(bot.channel._client, world.store) is False
