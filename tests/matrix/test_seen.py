"""What people see and do beside texts: photos, reactions, edits, deletions, typing, read marks, the pinned message."""

from __future__ import annotations

import asyncio
import os
import struct
import zlib

import nio
import pytest

from sitebot.channels.matrix import courtesy
from sitebot.channels.matrix.events import text_at
from sitebot.message import Media, Outgoing, today_key
from tests.matrix.matrix_echo import Echo
from tests.matrix.matrix_people import answers
from tests.matrix.test_sending import bodies, row, talking


def png(width=3, height=2):
    """A small real picture."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b"".join(b"\x00" + os.urandom(3 * width) for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


async def send_photo(phone, room, data, caption="", encrypted=False):
    where = await phone.upload(Media("weld.png", "image/png", data), encrypt=encrypted)
    content = {"msgtype": "m.image", "body": caption or "weld.png", "filename": "weld.png", **where}
    return await phone.send(room, "m.room.message", content | {"info": {"mimetype": "image/png", "size": len(data)}})


@pytest.mark.parametrize("encrypted", [False, True])
async def test_a_photo_comes_in_byte_for_byte(world, encrypted):
    """A photo with a caption is one message with the same bytes; one without a caption has no text."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    data = png()
    await send_photo(crew, room, data, "crack at 7", encrypted)
    await send_photo(crew, room, data, "", encrypted)
    await bot.until(lambda: len(bot.heard) == 2)
    assert [message.text for message in bot.heard] == ["crack at 7", ""]
    assert [message.media for message in bot.heard] == [(Media("weld.png", "image/png", data),)] * 2


def is_picture(event):
    return text_at(event.source, "content", "msgtype") == "m.image"


@pytest.mark.parametrize("encrypted", [False, True])
async def test_a_picture_goes_out_byte_for_byte(world, encrypted):
    """The words come first, then the picture with its size, the same bytes; in an encrypted room it is encrypted."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    data = png()
    await bot.channel.send(row("1", room, "45 deg each", media=(Media("cut.png", "image/png", data),)))
    picture = await crew.until(
        lambda: next((e for e in crew.seen if text_at(e.source, "content", "msgtype") == "m.image"), None)
    )
    assert bodies(crew, world.bot_id) == ["45 deg each"]
    content = picture.source["content"]
    assert (content["info"]["w"], content["info"]["h"]) == (3, 2)
    found = await crew.client.download(mxc=content["file"]["url"] if encrypted else content["url"])
    if encrypted:
        secret = content["file"]
        plain = nio.crypto.attachments.decrypt_attachment(
            found.body, secret["key"]["k"], secret["hashes"]["sha256"], secret["iv"]
        )
        assert found.body != data
        assert bytes(plain) == data
    else:
        assert found.body == data


async def test_a_picture_too_large_for_the_server_does_not_keep_the_words_back(world):
    """The words arrive; the picture is left out without being tried: the server would cut the line, again and again."""
    gateway = await world.behind_gateway()
    crew, bot, room = await talking(world)
    huge = Media("plan.png", "image/png", bytes(3_000_000))
    await bot.channel.send(row("1", room, "here it is", media=(huge,)))
    await crew.until(lambda: bodies(crew, world.bot_id))
    assert bodies(crew, world.bot_id) == ["here it is"]
    assert gateway.count("POST .*/media/.*/upload") == 0


@pytest.mark.parametrize(
    ("where", "asked"),
    [("mxc://hs.test/nothere", 1), ("mxc://hs.test/..?x", 0), ("mxc://a/b c", 0), ("http://hs.test/x", 0)],
)
async def test_a_photo_that_is_not_to_be_had_is_a_message_without_it(world, where, asked):
    """Gone or mangled photos do not stop what comes after; what is no address never becomes a path on the server."""
    gateway = await world.behind_gateway()
    crew, bot, room = await talking(world)
    content = {"msgtype": "m.image", "body": "look", "filename": "a.png", "url": where}
    crew.raw("PUT", f"/_matrix/client/v3/rooms/{room}/send/m.room.message/x", content)
    await crew.say(room, "next")
    await bot.until(lambda: bot.heard and bot.heard[-1].text == "next")
    lost = (Media("a.png", "application/octet-stream", b""),)
    assert [(message.text, message.media) for message in bot.heard] == [("look", lost), ("next", ())]
    assert gateway.count("/media/download/") == asked


async def test_a_tampered_photo_is_not_taken(world):
    """When the bytes on the server are not those of the hash, the message comes without them."""
    crew, bot, room = await talking(world, encrypted=True)
    where = await crew.upload(Media("a.png", "image/png", png()), encrypt=True)
    where["file"]["hashes"]["sha256"] = "A" * 43
    content = {"msgtype": "m.image", "body": "look", "filename": "a.png", **where}
    await crew.send(room, "m.room.message", content)
    await bot.until(lambda: bot.heard)
    assert (bot.heard[0].text, [m.data for m in bot.heard[0].media]) == ("look", [b""])


@pytest.mark.parametrize("encrypted", [False, True])
@pytest.mark.parametrize("thumb", ["👍", "👍️", "👍🏽"])
async def test_a_thumbs_up_is_heard(world, encrypted, thumb):
    """A thumbs-up of any colour on a message of ours is a reaction to it."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    ours = await bot.channel.send(row("1", room, "unplugged?", kind="reminder"))
    relation = {"rel_type": "m.annotation", "event_id": ours, "key": thumb}
    await crew.send(room, "m.reaction", {"m.relates_to": relation})
    await bot.until(lambda: bot.heard)
    message = bot.heard[0]
    assert (message.reaction, message.text, message.reply_to, message.addressed) == (True, "👍", ours, True)


def edit(original, text):
    body = {"msgtype": "m.text", "body": text}
    return {
        **body,
        "body": "* " + text,
        "m.new_content": body,
        "m.relates_to": {"rel_type": "m.replace", "event_id": original},
    }


@pytest.mark.parametrize("encrypted", [False, True])
async def test_an_edit_and_a_deletion_name_their_message(world, encrypted):
    """An edit comes with the new text and the id of the old one; a deletion with the id."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    first = await crew.say(room, "4 butts")
    await crew.send(room, "m.room.message", edit(first, "3 butts"))
    await crew.client.room_redact(room, first)
    await bot.until(lambda: len(bot.heard) == 3)
    assert [(m.text, m.edits, m.retracts) for m in bot.heard] == [
        ("4 butts", "", ""),
        ("3 butts", first, ""),
        ("", "", first),
    ]


async def test_an_edit_by_somebody_else_is_not_heard(world):
    """Nobody puts words into another's mouth: clients pass such an edit over, and so do we."""
    crew, other = await world.phone("crew"), await world.phone("other")
    bot = await world.bot(answers=False)
    room = await world.room(crew, other)
    first = await crew.say(room, "4 butts")
    await other.send(room, "m.room.message", edit(first, "40 butts"))
    await other.say(room, "end")
    await bot.until(lambda: bot.heard and bot.heard[-1].text == "end")
    assert [message.text for message in bot.heard] == ["4 butts", "end"]


async def test_an_edit_of_old_talk_is_not_heard(world, monkeypatch):
    """Tidying up a message of long ago is no report."""
    from datetime import timedelta

    from sitebot.channels.matrix import hearing

    crew, bot, room = await talking(world)
    first = await crew.say(room, "4 butts")
    monkeypatch.setattr(hearing, "EDITABLE", timedelta(0))
    await crew.send(room, "m.room.message", edit(first, "3 butts"))
    await crew.say(room, "end")
    await bot.until(lambda: bot.heard and bot.heard[-1].text == "end")
    assert [message.text for message in bot.heard] == ["4 butts", "end"]


async def test_typing_is_shown_while_an_answer_takes_its_time(world):
    """When no answer has left in time, the room sees us typing; with the answer it ends."""
    crew, bot, room = await talking(world, typing_after=0)
    question = await crew.say(room, "how hot?")
    await crew.until(lambda: any(world.bot_id in notice.users for notice in crew.typing))
    await bot.channel.send(row("1", room, "360 F", reply_to=question))
    await crew.until(lambda: crew.typing[-1].users == [])


async def test_a_quick_answer_shows_no_typing(world):
    """An answer within the second comes without a typing notice."""
    crew = await world.phone("crew")
    await world.bot(typing_after=60)
    room = await world.room(crew)
    for n in range(3):
        await crew.answer_to(await crew.say(room, f"q{n}"), world.bot_id)
    assert crew.typing == []


async def test_read_marks_come_after_the_commit_only(world, monkeypatch):
    """While the inbox has not committed nothing is marked as read; afterwards it is."""
    monkeypatch.setattr(courtesy, "READ_AFTER_S", 0)
    crew, bot, room = await talking(world)
    waiting, gate, keep = asyncio.Event(), asyncio.Event(), bot.ledger.keep
    await bot.stop()
    bot = Echo(world.store, world.log, world.roster, answers=False)

    async def slow(messages, state):
        if messages:
            waiting.set()
            await gate.wait()
        keep(messages, state)

    bot.keep = slow
    bot.start()
    question = await crew.say(room, "how hot?")
    await waiting.wait()
    for n in range(3):  # time enough for a mark to pass the homeserver
        last = await crew.say(room, f"more {n}")
        await crew.until(lambda last=last: any(event.event_id == last for event in crew.seen))
    assert receipt(crew, room, world.bot_id) != question
    gate.set()
    await crew.until(lambda: receipt(crew, room, world.bot_id) == last)
    await bot.stop()


async def test_read_marks_wait_until_the_talk_rests(world, monkeypatch):
    """While somebody goes on writing nothing is marked as read; once it is quiet one mark covers all."""
    gateway, loop = await world.behind_gateway(), asyncio.get_running_loop()
    crew, bot, room = await talking(world)
    clock, later = loop.time, 0.0
    monkeypatch.setattr(loop, "time", lambda: clock() + later)
    monkeypatch.setattr(courtesy, "READ_AFTER_S", 300)
    monkeypatch.setattr(courtesy, "READ_WITHIN_S", 3000)
    for n in range(4):
        last = await crew.say(room, f"more {n}")
        await bot.until(lambda last=last: bot.heard and bot.heard[-1].external_id == last)
        later += 200
    await crew.sync()
    assert gateway.count("POST .*/read_markers") == 0
    later += 300
    await crew.until(lambda: receipt(crew, room, world.bot_id) == last)
    assert gateway.count("POST .*/read_markers") == 1


async def test_nothing_is_marked_as_read_where_nobody_wrote(world, monkeypatch):
    """Rooms that we have just joined, and our own words, are not marked: a thousand marks would hold up everybody."""
    monkeypatch.setattr(courtesy, "READ_AFTER_S", 0)
    gateway = await world.behind_gateway()
    crew, bot, room = await talking(world)
    await bot.channel.send(row("1", room))
    await crew.until(lambda: bodies(crew, world.bot_id))
    last = await crew.say(room, "thanks")
    await crew.until(lambda: receipt(crew, room, world.bot_id) == last)
    assert gateway.count("POST .*/read_markers") == 1


async def test_marks_are_written_one_after_the_other(world, monkeypatch):
    """However many rooms are to be marked, the homeserver gets one mark at a time."""
    monkeypatch.setattr(courtesy, "READ_AFTER_S", 0)
    crew, bot, first = await talking(world)
    rooms = [first, *[await world.room(crew) for _ in range(3)]]
    open_now, most, post = 0, 0, bot.channel._client.room_read_markers

    async def counted(*arguments, **options):
        nonlocal open_now, most
        open_now += 1
        most = max(most, open_now)
        answer = await post(*arguments, **options)
        open_now -= 1
        return answer

    monkeypatch.setattr(bot.channel._client, "room_read_markers", counted)
    last = {room: await crew.say(room, "hello") for room in rooms}
    for room, event in last.items():
        bot.channel._courtesy.read(room, event)
    await crew.until(lambda: all(receipt(crew, room, world.bot_id) == last[room] for room in rooms))
    assert most == 1


def receipt(phone, room, user):
    found = phone.client.rooms[room].read_receipts.get(user)
    return found.event_id if found else ""


@pytest.mark.parametrize("encrypted", [False, True])
async def test_the_message_of_the_day_is_pinned_and_edited_in_place(world, encrypted):
    """One pinned message a day; new counts edit it, over restarts too; the next day has its own."""
    crew, bot, room = await talking(world, encrypted=encrypted)
    await crew.client.room_put_state(room, "m.room.power_levels", levels(crew, room, world.bot_id))
    for text in ("3 made", "4 made", "3 made", "4 made", "4 made"):
        await show_today(bot, room, "2026-03-10", text)
    await bot.stop()
    bot = await world.bot(answers=False)
    await bot.until(lambda: bot.channel._keep)
    await show_today(bot, room, "2026-03-10", "5 made")
    (first,) = pinned(crew, room)
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 5)
    edits = [e.source["content"]["m.relates_to"]["event_id"] for e in crew.said_by(world.bot_id)[1:]]
    shown = [e.source["content"].get("m.new_content", e.source["content"])["body"] for e in crew.said_by(world.bot_id)]
    assert shown == ["3 made", "4 made", "3 made", "4 made", "5 made"]
    assert edits == [first] * 4
    await show_today(bot, room, "2026-03-11", "0 made")
    (second,) = pinned(crew, room)
    assert second != first
    assert answers(crew.seen, first, world.bot_id) == []


async def show_today(bot, room, day, text):
    await bot.channel.send(Outgoing(today_key(room, day, 0), "matrix", "", text, "today", room=room))


def levels(phone, room, pinner):
    """The room's power levels, with the right to pin."""
    content = phone.raw("GET", f"/_matrix/client/v3/rooms/{room}/state/m.room.power_levels/")
    return content | {"events": {**content.get("events", {}), "m.room.pinned_events": 0}}


def pinned(phone, room):
    return phone.raw("GET", f"/_matrix/client/v3/rooms/{room}/state/m.room.pinned_events/")["pinned"]


async def test_without_the_right_to_pin_the_message_is_there_all_the_same(world):
    """In a room where we may not pin, the message is sent and edited, and nothing fails."""
    crew, bot, room = await talking(world)
    await show_today(bot, room, "2026-03-10", "3 made")
    await show_today(bot, room, "2026-03-10", "4 made")
    await crew.until(lambda: len(bodies(crew, world.bot_id)) == 2)
