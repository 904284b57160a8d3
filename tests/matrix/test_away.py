"""By hand: the homeserver is away for ten minutes on the real clock, with answers and a reminder waiting to go out."""

from __future__ import annotations

import asyncio
import collections
import os
import time
from datetime import UTC, datetime

import nio
import pytest

from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.site import site_of
from sitebot.stage import load_site
from tests.matrix.conftest import World
from tests.matrix.matrix_people import answered
from tests.matrix.test_chaos import Process, own_homeserver

__all__ = ["own_homeserver"]
#: How long it is away [s].
AWAY = int(os.environ.get("SITEBOT_AWAY", "600"))
#: The longest wait between two tries, and some time to send.
SOON = 330


def a_site(folder, person):
    journal = Journal.at(folder / "app.db")
    journal.migrate()
    people = [{"name": "Orrin", "role": "lead", "matrix": person}]
    places = [{"name": "wall B1", "kinds": {"butt": 100}}]
    with journal.turn("site", datetime.now(UTC)) as turn:
        # No day has a shift: no reminder but the one asked for.
        load_site(turn, site_of({"name": "Tank", "people": people, "places": places, "shift": {"days": ""}}, "test"))
    return journal


def recorded(journal):
    with journal.log("site") as log:
        return collections.Counter(s.number for s in log.splices())


async def report(crew, rooms, numbers):
    return [await crew.say(rooms[n % 2], f"splice {n} butt wall B1 done") for n in numbers]


@pytest.mark.long
async def test_ten_minutes_without_a_homeserver(own_homeserver, tmp_path):
    """Twelve reports just before, a reminder due meanwhile, twelve reports after: each answered and recorded once."""
    world = World(own_homeserver, tmp_path)
    crew = await world.phone("orrin")
    await world.log_bot_in()
    journal = a_site(tmp_path, crew.id)
    process = Process(world, "tests.matrix.matrix_app", world.store, tmp_path / "app.db")
    process.start()
    try:
        rooms = [await world.room(crew), await world.room(crew, encrypted=True)]
        asked = await crew.say(rooms[0], f"remind me in {max(AWAY // 120, 1)} minutes to change the cover")
        await crew.answer_to(asked, world.bot_id)
        sent = await report(crew, rooms, range(1, 13))
        own_homeserver.kill()
        await asyncio.sleep(AWAY)
        assert process.process.poll() is None, "the assistant ended with its homeserver"
        print(f"away {AWAY} s; {journal.load().queued} messages wait to be sent", flush=True)
        own_homeserver.start()
        back = time.monotonic()
        sent += await report(crew, rooms, range(13, 25))
        await crew.until(lambda: set(sent) <= answered(crew.seen, world.bot_id).keys(), SOON)
        print(f"all {len(sent)} answered {time.monotonic() - back:.0f} s after it was back", flush=True)
        await crew.until(lambda: any(e.body.startswith("Reminder") for e in crew.said_by(world.bot_id)), SOON)
    finally:
        process.kill()
        await world.end()
    times = answered(crew.seen, world.bot_id)
    assert [times[event] for event in sent] == [1] * 24
    assert recorded(journal) == dict.fromkeys(range(1, 25), 1)
    assert [*check(journal, "site"), *(e for e in crew.seen if isinstance(e, nio.MegolmEvent))] == []
    assert "homeserver" in (tmp_path / "bot.log").read_text().lower()
