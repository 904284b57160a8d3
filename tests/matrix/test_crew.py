"""A crew and its assistant on a real homeserver: the shared room, changed and deleted reports, signs, today's pin."""

from __future__ import annotations

from datetime import UTC, datetime

import nio
import pytest

from sitebot.site import site_of
from tests.matrix.matrix_people import answers
from tests.matrix.matrix_site import OnMatrix
from tests.matrix.test_seen import edit, levels

START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)


async def a_site(world, *names):
    """The assistant of a tank, running, and its people's phones."""
    phones = [await world.phone(name.lower()) for name in names]
    roles = ("lead", "crew", "crew")
    people = [{"name": n, "role": r, "matrix": p.id} for n, r, p in zip(names, roles, phones, strict=False)]
    places = [{"name": "wall B3", "kinds": {"butt": 8}}, {"name": "wall B4", "kinds": {"butt": 8}}]
    await world.log_bot_in()
    site = OnMatrix(world, site_of({"name": "Tank", "people": people, "places": places}, "test"), START)
    await site.start()
    return site, phones


def splices(site):
    with site.journal.turn("site", site.now) as turn:
        return [(s.number, s.place, s.status) for s in turn.log.splices()]


@pytest.mark.parametrize("encrypted", [False, True])
async def test_a_crew_room(world, encrypted):
    """Small talk gets nothing; a report gets its reply, in the thread it was said in; the count is pinned there."""
    site, (wilda, tobin) = await a_site(world, "Wilda", "Tobin")
    room = await world.room(wilda, tobin, encrypted=encrypted)
    await wilda.client.room_put_state(room, "m.room.power_levels", levels(wilda, room, world.bot_id))
    talk = [await tobin.say(room, text) for text in ("see you at lunch", "who took my gloves", "4 tacos for me")]
    thread = {
        "rel_type": "m.thread",
        "event_id": talk[-1],
        "is_falling_back": True,
        "m.in_reply_to": {"event_id": talk[-1]},
    }
    report = await tobin.say(room, "4 butts wall B3 done", **{"m.relates_to": thread})
    reply = await wilda.answer_to(report, world.bot_id)
    assert reply.source["content"]["m.relates_to"]["event_id"] == talk[-1]
    assert [answers(wilda.seen, event, world.bot_id) for event in talk] == [[], [], []]
    await wilda.until(lambda: any("4 splices made" in e.body for e in wilda.said_by(world.bot_id)))
    (today,) = await wilda.until(lambda: pins(wilda, room))
    await site.stop()
    await site.start()
    site.later(minutes=2)
    await tobin.answer_to(await tobin.say(room, "2 butts wall B4 done"), world.bot_id)
    await wilda.until(lambda: any("6 splices made" in e.body for e in wilda.said_by(world.bot_id)))
    (change,) = (e for e in wilda.said_by(world.bot_id) if "6 splices made" in e.body)
    assert change.source["content"]["m.relates_to"] == {"rel_type": "m.replace", "event_id": today}


@pytest.mark.parametrize("encrypted", [False, True])
async def test_a_changed_and_a_deleted_report(world, encrypted):
    """The edit corrects the record; the deletion asks, and a thumbs-up on the question voids."""
    site, (tobin,) = await a_site(world, "Tobin")
    room = await world.room(tobin, encrypted=encrypted)
    report = await tobin.say(room, "1 butt wall B3 done")
    await tobin.answer_to(report, world.bot_id)
    await tobin.send(room, "m.room.message", edit(report, "1 butt wall B4 done"))
    await tobin.until(lambda: len(answers(tobin.seen, report, world.bot_id)) == 2)
    assert splices(site) == [(1, "wall B4", "pending")]
    await tobin.client.room_redact(room, report)
    question = await tobin.until(lambda: next((e for e in tobin.said_by(world.bot_id) if e.body == "Void #1?"), None))
    sign = {"rel_type": "m.annotation", "event_id": question.event_id, "key": "\U0001f44d\U0001f3fd"}
    await tobin.send(room, "m.reaction", {"m.relates_to": sign})
    await tobin.until(lambda: any("void." in e.body for e in tobin.said_by(world.bot_id)))
    assert splices(site) == [(1, "wall B4", "voided")]


async def test_a_reminder_in_the_crew_room(world):
    """The morning's reminder comes to the room and calls the lead; anybody's thumbs-up there is its acknowledgement."""
    site, (wilda, tobin) = await a_site(world, "Wilda", "Tobin")
    room = await world.room(wilda, tobin)
    await tobin.answer_to(await tobin.say(room, "unplugged iron 1"), world.bot_id)
    site.run_to(datetime(2026, 4, 15, 14, 0, tzinfo=UTC))
    reminders = await tobin.until(
        lambda: [e for e in tobin.said_by(world.bot_id) if "plug" in e.body.lower() and mentions(e) == [wilda.id]]
    )
    sign = {"rel_type": "m.annotation", "event_id": reminders[-1].event_id, "key": "\U0001f44d"}
    await tobin.send(room, "m.reaction", {"m.relates_to": sign})
    await tobin.until(lambda: "plugged_in" in iron_events(site))


def iron_events(site):
    with site.journal.turn("site", site.now) as turn:
        return [e.event for e in turn.log.iron_events("2026-04-15")]


def pins(phone, room):
    path = f"/_matrix/client/v3/rooms/{room}/state/m.room.pinned_events/"
    return phone.server.request("GET", path, token=phone.client.access_token)[1].get("pinned")


def mentions(event: nio.Event):
    return event.source["content"].get("m.mentions", {}).get("user_ids")
