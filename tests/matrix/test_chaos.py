"""Crashes: the assistant and the homeserver are killed again and again; every question is answered exactly once.

Killed with SIGKILL, at moments that differ from run to run; half of the questions are asked in an encrypted room.
"""

from __future__ import annotations

import asyncio
import collections
import contextlib
import pathlib
import subprocess
import sys
import time
import uuid
from datetime import UTC, datetime

import aiohttp
import nio
import pytest

from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.site import site_of
from sitebot.stage import load_site
from tests.matrix.conftest import World
from tests.matrix.matrix_people import answered
from tests.matrix.matrix_server import Homeserver

ROOT = pathlib.Path(__file__).parents[2]
#: So many questions may be open at once.
AHEAD = 30
LOST = (aiohttp.ClientError, OSError, asyncio.TimeoutError)


class Process:
    """The assistant as a process of its own."""

    def __init__(self, world, module="tests.matrix.matrix_echo", *arguments):
        self.command = [sys.executable, "-m", module, *map(str, arguments or (world.store, world.log, *world.roster))]
        self.log = (world.folder / "bot.log").open("ab")

    def start(self):
        self.process = subprocess.Popen(self.command, cwd=ROOT, stdout=self.log, stderr=self.log)

    def kill(self):
        self.process.kill()
        self.process.wait()

    def crash(self):
        self.kill()
        self.start()


async def insist(attempt):
    """Do it until the homeserver is there again."""
    while True:
        with contextlib.suppress(*LOST):
            answer = await attempt()
            if not isinstance(answer, nio.ErrorResponse):
                return answer


class Crew:
    """Somebody who asks in several rooms, never very far ahead of the answers: each crash finds work under way."""

    def __init__(self, phone, bot):
        self.phone, self._bot = phone, bot
        self.sent = {}
        self.answers, self._looked = 0, 0
        self._heard = asyncio.Event()

    async def ask(self, room, texts, after):
        """Ask one question after the other; each counts only once the homeserver has it."""
        for text in texts:
            while len(self.sent) - self.answers > AHEAD:
                self._heard.clear()
                await self._heard.wait()
            mark, content = uuid.uuid4().hex, {"msgtype": "m.text", "body": text}
            answer = await insist(
                lambda mark=mark, content=content: self.phone.client.room_send(room, "m.room.message", content, mark)
            )
            self.sent[answer.event_id] = text
            await after(len(self.sent))

    async def listen(self):
        while True:
            with contextlib.suppress(*LOST, AssertionError):
                await self.phone.sync(2000)
            self.answers += sum(event.sender == self._bot for event in self.phone.seen[self._looked :])
            self._looked = len(self.phone.seen)
            self._heard.set()


class Deaths:
    """Kills the assistant and the homeserver after so many questions, and says how far it has come (pytest -s)."""

    def __init__(self, world, process, count, kills, server_kills):
        self._server, self._process, self._began = world.server, process, time.monotonic()
        self._bot_dies = {count * (n + 1) // (kills + 1) for n in range(kills)}
        self._server_dies = {count * (2 * n + 1) // (2 * server_kills) for n in range(server_kills)}
        self.bots, self.servers = 0, 0

    async def after(self, asked, answers):
        if asked in self._bot_dies:
            await asyncio.to_thread(self._process.crash)
            self.bots += 1
        if asked in self._server_dies:
            await asyncio.to_thread(self._server.kill)
            await asyncio.to_thread(self._server.start)
            self.servers += 1
        if asked % 50 == 0:
            self.tell(asked, answers)

    def tell(self, asked, answers):
        deaths = f"{self.bots} kills of the assistant, {self.servers} of the homeserver"
        print(f"{time.monotonic() - self._began:.0f} s: {asked} asked, {answers} answers, {deaths}", flush=True)


async def ended(task):
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


async def crash_while_asking(world, crew, process, rooms, lines, *, kills, server_kills):
    """Ask all lines, each list in its room, and crash meanwhile; returns what was asked when all is answered."""
    asking, count = Crew(crew, world.bot_id), sum(map(len, lines))
    deaths = Deaths(world, process, count, kills, server_kills)

    async def perhaps_crash(asked):
        await deaths.after(asked, asking.answers)

    hearing = asyncio.create_task(asking.listen())
    try:
        await asyncio.gather(*(asking.ask(*line, perhaps_crash) for line in zip(rooms, lines, strict=True)))
        await ended(hearing)
        await crew.until(lambda: asking.sent.keys() <= answered(crew.seen, world.bot_id).keys(), 120 + count / 2)
        process.crash()  # and once more, to see whether anything comes twice
        for room, last in zip(rooms, ("how hot should the iron be?", "how long does it heat up?"), strict=True):
            await crew.answer_to(await crew.say(room, last), world.bot_id)
    finally:
        await ended(hearing)
        process.kill()
        await world.end()
    deaths.tell(len(asking.sent), sum(answered(crew.seen, world.bot_id)[event] for event in asking.sent))
    return asking.sent


async def chaos(server, folder, questions, kills, server_kills):
    """How often each question was answered, and what the crew could not read."""
    world = World(server, folder)
    crew = await world.phone("crew")
    await world.log_bot_in()
    process = Process(world)
    process.start()
    rooms = [await world.room(crew), await world.room(crew, encrypted=True)]
    lines = [[f"{where} {n}" for n in range(questions // 2)] for where in ("plain", "sealed")]
    sent = await crash_while_asking(world, crew, process, rooms, lines, kills=kills, server_kills=server_kills)
    times = answered(crew.seen, world.bot_id)
    counted = collections.Counter(times[event] for event in sent)
    return counted, [event for event in crew.seen if isinstance(event, nio.MegolmEvent)]


@pytest.fixture
def own_homeserver(tmp_path):
    """A homeserver that may be killed."""
    server = Homeserver(tmp_path / "hs").start()
    yield server
    server.kill()


async def test_every_question_is_answered_exactly_once_over_crashes(own_homeserver, tmp_path):
    """100 questions, three kills of the assistant, one of the homeserver: 100 answers, none twice, all readable."""
    counted, unreadable = await chaos(own_homeserver, tmp_path, questions=100, kills=3, server_kills=1)
    assert (dict(counted), unreadable) == ({1: 100}, [])


@pytest.mark.long
@pytest.mark.timeout(3600)
async def test_two_thousand_questions_over_many_crashes(own_homeserver, tmp_path):
    """The same with 2,000 questions, 24 kills of the assistant and 6 of the homeserver, by hand."""
    counted, unreadable = await chaos(own_homeserver, tmp_path, questions=2000, kills=24, server_kills=6)
    assert (dict(counted), unreadable) == ({1: 2000}, [])


async def reports(server, folder, count, kills, server_kills):
    """Splices reported to the whole assistant over crashes: how often each was answered, what the log holds in the end,
    and what the crew could not read."""
    world = World(server, folder)
    crew = await world.phone("orrin")
    await world.log_bot_in()
    journal = Journal.at(folder / "app.db")
    journal.migrate()
    walls = [{"name": f"wall B{wall}", "kinds": {"butt": 100}} for wall in range(1, count // 100 + 2)]
    people = [{"name": "Orrin", "role": "lead", "matrix": crew.id}]
    with journal.turn("site", datetime.now(UTC)) as turn:
        load_site(turn, site_of({"name": "Tank", "people": people, "places": walls}, "test"))
    process = Process(world, "tests.matrix.matrix_app", world.store, folder / "app.db")
    process.start()
    rooms = [await world.room(crew), await world.room(crew, encrypted=True)]
    texts = [f"splice {n} butt wall B{1 + n // 100} done" for n in range(1, count + 1)]
    sent = await crash_while_asking(
        world, crew, process, rooms, [texts[::2], texts[1::2]], kills=kills, server_kills=server_kills
    )
    times = answered(crew.seen, world.bot_id)
    counted = collections.Counter(times[event] for event in sent)
    with journal.turn("site", datetime.now(UTC)) as turn:
        made = collections.Counter(s.number for s in turn.log.splices())
    faults = [*check(journal, "site"), *(e for e in crew.seen if isinstance(e, nio.MegolmEvent))]
    return counted, made, faults


async def test_every_report_is_recorded_and_answered_once_over_crashes(own_homeserver, tmp_path):
    """60 welds reported while the assistant is killed three times and the homeserver once: 60 welds, 60 answers."""
    counted, made, faults = await reports(own_homeserver, tmp_path, 60, kills=3, server_kills=1)
    assert (dict(counted), dict(made), faults) == ({1: 60}, dict.fromkeys(range(1, 61), 1), [])


@pytest.mark.long
@pytest.mark.timeout(3600)
async def test_two_thousand_reports_over_many_crashes(own_homeserver, tmp_path):
    """The same with 2,000 welds, 24 kills of the assistant and 6 of the homeserver, by hand."""
    counted, made, faults = await reports(own_homeserver, tmp_path, 2000, kills=24, server_kills=6)
    assert (dict(counted), dict(made), faults) == ({1: 2000}, dict.fromkeys(range(1, 2001), 1), [])
