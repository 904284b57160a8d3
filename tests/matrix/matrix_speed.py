"""How long an echo takes: ``python -m tests.matrix.matrix_speed [count]``. No test lives here."""

from __future__ import annotations

import asyncio
import logging
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import structlog

from tests.matrix.conftest import World
from tests.matrix.matrix_server import Homeserver
from tests.matrix.test_chaos import Process


async def measure(count: int) -> None:
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.ERROR))
    logging.disable(logging.WARNING)
    with tempfile.TemporaryDirectory(dir="/dev/shm") as folder:
        server = Homeserver(pathlib.Path(folder) / "hs").start()
        world = World(server, pathlib.Path(folder))
        try:
            crew = await world.phone("crew")
            bot = await world.bot()
            rooms = {"plain": await world.room(crew), "encrypted": await world.room(crew, encrypted=True)}
            for room in rooms.values():
                await crew.answer_to(await crew.say(room, "warm"), world.bot_id)
            await bot.stop()
            process = Process(world)
            process.start()
            for name, room in rooms.items():
                await crew.answer_to(await crew.say(room, "warm again"), world.bot_id)
                print(name, figures([await echo(crew, room, world.bot_id, n) for n in range(count)]))
            process.kill()
        finally:
            await world.end()
            server.stop()


async def echo(crew, room: str, bot: str, number: int) -> float:
    """Seconds from sending to having the answer; the phone listens all the while."""
    crew.seen.clear()
    begin = time.perf_counter()
    listening = asyncio.create_task(crew.until(lambda: [e for e in crew.said_by(bot) if e.body == f"re: q{number}"]))
    await crew.say(room, f"q{number}")
    await listening
    return time.perf_counter() - begin


def figures(seconds: list[float]) -> str:
    cut = statistics.quantiles(seconds, n=100)
    return (
        f"p50 {cut[49] * 1000:.1f} ms, p99 {cut[98] * 1000:.1f} ms, max {max(seconds) * 1000:.1f} ms, n {len(seconds)}"
    )


if __name__ == "__main__":
    asyncio.run(measure(int(sys.argv[1]) if len(sys.argv) > 1 else 300))
    subprocess.run(["uptime"], check=False)
