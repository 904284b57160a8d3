"""Photos over Matrix to the splice they show: encrypted on the way, kept byte for byte, refused in a few words."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from sitebot.entries import SpliceReported
from sitebot.message import Media
from sitebot.play import SITE
from sitebot.site import site_of
from tests.matrix.matrix_site import OnMatrix
from tests.reports.photography import jpeg

START = datetime(2026, 3, 10, 16, 0, tzinfo=UTC)


async def photographed(phone, room, data, caption="", *, encrypted):
    where = await phone.upload(Media("IMG.jpg", "image/jpeg", data), encrypt=encrypted)
    content = {"msgtype": "m.image", "body": caption or "IMG.jpg", "filename": "IMG.jpg", **where}
    return await phone.send(room, "m.room.message", content | {"info": {"mimetype": "image/jpeg"}})


@pytest.mark.parametrize("encrypted", [True, False])
async def test_a_photo_comes_to_its_splice(world, encrypted):
    """One alone that a number settles, a reject with its photo, a HEIC refused; all that is kept is as it was."""
    iris = await world.phone("iris")
    people = [{"name": "Iris", "role": "inspector", "matrix": iris.id}, {"name": "Bram", "role": "crew"}]
    site = site_of({"name": "Tower", "people": people, "places": [{"name": "east wall", "kinds": {"butt": 4}}]}, "test")
    await world.log_bot_in()
    day = OnMatrix(world, site, START)
    with day.journal.turn(SITE, START) as turn:
        made = {"day": "2026-03-10", "made_at": START.isoformat(), "place": "east wall", "kind": "butt"}
        turn.record([SpliceReported(number=n, **made) for n in (1, 2)], "p2")
    await day.start()
    room = await world.room(iris, encrypted=encrypted)

    async def reply(event):
        return (await iris.answer_to(event, world.bot_id)).body

    first, second = jpeg(300, 200, noise=True, gps=True), jpeg(300, 200, noise=True, seed=2)
    assert "Which splice" in await reply(await photographed(iris, room, first, encrypted=encrypted))
    assert "kept with #2" in await reply(await iris.say(room, "2"))
    said = await reply(await photographed(iris, room, second, "1 rejected, pores", encrypted=encrypted))
    assert "Photo kept with #1" in said
    heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(500)
    refused = await reply(await photographed(iris, room, heic, "2 rejected, char", encrypted=encrypted))
    assert "Send it as JPEG" in refused
    with day.journal.log(SITE) as log:
        assert [log.splice(n).status for n in (1, 2)] == ["rejected", "rejected"]
        kept = log.photos()
    assert [day.journal.photos.read(p.sha256) for p in kept] == [first, second]
    assert [p.numbers for p in kept] == [(2,), (1,)]
