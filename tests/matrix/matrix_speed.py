"""How long an answer takes, beside the barest echo bot on the same homeserver, and from a restart with many rooms.

    python -m tests.matrix.matrix_speed [count]          each kind of round trip so often, in turn
    python -m tests.matrix.matrix_speed rooms [rooms]    restart to first answer

No test lives here.
"""

from __future__ import annotations

import asyncio
import logging
import os
import pathlib
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any

import structlog

from sitebot.journal import Journal
from sitebot.site import site_of
from sitebot.stage import load_site
from tests.matrix.conftest import World
from tests.matrix.matrix_people import Phone
from tests.matrix.matrix_server import PASSWORD, Homeserver
from tests.matrix.test_chaos import Process


@asynccontextmanager
async def on_site() -> AsyncIterator[tuple[World, Phone, Process]]:
    """A homeserver, somebody of the crew, and the whole assistant as a process, not yet started."""
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    logging.disable(logging.WARNING)
    with tempfile.TemporaryDirectory(dir="/dev/shm") as folder:
        place = pathlib.Path(folder)
        server = Homeserver(place / "hs").start()
        world = World(server, place)
        crew = await world.phone("crew")
        await world.log_bot_in()
        journal = Journal.at(place / "app.db")
        journal.migrate()
        people = [{"name": "Orrin", "role": "lead", "matrix": crew.id}]
        with journal.turn("site", datetime.now(UTC)) as turn:
            load_site(turn, site_of({"name": "Tank", "people": people}, "test"))
        process = Process(world, "tests.matrix.matrix_app", world.store, place / "app.db")
        try:
            yield world, crew, process
        finally:
            process.kill()
            await world.end()
            server.stop()


async def asked(crew: Phone, room: str, bot: str, text: str, within: float = 60) -> float:
    """Seconds from sending to having the answer; the phone listens all the while."""
    crew.seen.clear()
    begin = time.perf_counter()
    listening = asyncio.create_task(crew.until(lambda: crew.said_by(bot), within))
    await crew.say(room, text)
    await listening
    return time.perf_counter() - begin


async def round_trips(count: int) -> None:
    """Each kind in turn, so that all meet the same load of the machine."""
    async with on_site() as (world, crew, process):
        process.start()
        bare = world.server.register(f"bare_{world.tag}")
        echo = Process(world, "tests.matrix.matrix_bare", world.server.url, bare, PASSWORD, world.folder / "bare")
        echo.start()
        bots = {"bare echo": bare, "assistant": world.bot_id}
        kinds = [(name, encrypted) for encrypted in (False, True) for name in bots]
        rooms = {kind: await room_with(crew, bots[kind[0]], encrypted=kind[1]) for kind in kinds}
        taken: dict[Any, list[float]] = {kind: [] for kind in kinds}
        for n in range(-5, count):
            for i, kind in enumerate(kinds):
                # Never the same words twice: who sends a text twice within a minute is answered once.
                text = f"what angle for a {20 + ((n + 5) * len(kinds) + i) / 8 % 140:g} flat corner"
                seconds = await asked(crew, rooms[kind], bots[kind[0]], text)
                taken[kind] += [seconds] if n >= 0 else []
        echo.kill()
        for (name, encrypted), seconds in taken.items():
            print(f"{name:10} {'encrypted' if encrypted else 'plain':10} {figures(seconds)}")


async def room_with(crew: Phone, bot: str, *, encrypted: bool) -> str:
    room = await crew.create(bot, encrypted=encrypted)
    await crew.joined_by(room, bot)
    return room


async def restart(count: int) -> None:
    """The assistant is in so many rooms; a question waits for it when it starts."""
    async with on_site() as (world, crew, process):
        process.start()
        rooms = {
            name: await room_with(crew, world.bot_id, encrypted=name == "encrypted") for name in ("plain", "encrypted")
        }
        process.kill()
        token = await bot_token(world)
        for _ in range(count - len(rooms)):
            body = {"invite": [world.bot_id], "preset": "private_chat"}
            room = crew.raw("POST", "/_matrix/client/v3/createRoom", body)["room_id"]
            status, answer = world.server.request("POST", f"/_matrix/client/v3/join/{room}", {}, token)
            assert status == 200, answer
        process.start()
        # Its first meeting with all those rooms; what is measured comes after it.
        await asked(crew, rooms["plain"], world.bot_id, "what angle for a 90 flat corner", 600)
        for n in range(5):
            for i, (name, room) in enumerate(rooms.items()):
                process.kill()
                crew.seen.clear()
                # Never the same words twice: who sends a text twice within a minute is answered once.
                await crew.say(room, f"what angle for a {30 + 2 * n + i} flat corner")
                begin = time.perf_counter()
                process.start()
                await crew.until(lambda: crew.said_by(world.bot_id))
                print(f"{count} rooms, {name:9} restart to first answer {time.perf_counter() - begin:.2f} s")


async def bot_token(world: World) -> str:
    """Another device of the assistant's account, to join by hand."""
    body = {"type": "m.login.password", "identifier": {"type": "m.id.user", "user": world.bot_id}, "password": PASSWORD}
    status, answer = world.server.request("POST", "/_matrix/client/v3/login", body)
    assert status == 200, answer
    return str(answer["access_token"])


def figures(seconds: list[float]) -> str:
    cut = statistics.quantiles(seconds, n=100)
    return (
        f"p50 {cut[49] * 1000:.1f} ms, p99 {cut[98] * 1000:.1f} ms, max {max(seconds) * 1000:.1f} ms, n {len(seconds)}"
    )


if __name__ == "__main__":
    words = sys.argv[1:]
    if words[:1] == ["rooms"]:
        asyncio.run(restart(int(words[1]) if words[1:] else 1000))
    else:
        asyncio.run(round_trips(int(words[0]) if words else 300))
    print("load of the machine", *(f"{load:.1f}" for load in os.getloadavg()))
