"""The real assistant behind the channel: a whole day of a crew over Matrix, and its record over crashes."""

from __future__ import annotations

import asyncio
import json
import pathlib
import re
from datetime import UTC, datetime

import nio

from sitebot.app import App
from sitebot.channels.matrix.channel import MatrixChannel
from sitebot.journal import Journal
from sitebot.outbox import send_due
from sitebot.play import SITE, record_of, site_of_header
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import site_of as site_of_file
from sitebot.stage import load_site
from tests.matrix.conftest import World
from tests.matrix.matrix_people import answers
from tests.matrix.test_chaos import Process, crash_while_asking, own_homeserver  # noqa: F401

DAY = pathlib.Path(__file__).parents[1] / "days" / "01-good-day.jsonl"


class OnMatrix:
    """A site on a clock of its own, whose people write over Matrix."""

    def __init__(self, world, site, start):
        self.site, self.now = site, start
        self.journal = Journal("sqlite://")
        self.journal.migrate()
        self.app = App(self.journal, Rulebook.load(rules_folder()))
        with self.journal.turn(SITE, start) as turn:
            load_site(turn, site)
        self.app.tick(SITE, start)
        self.channel = MatrixChannel(world.store, {}, lambda who: bool(self.journal.sites_of(who)))
        self.kept = asyncio.Event()

    async def keep(self, messages, state):
        for row in self.journal.keep(SITE, messages, state, "matrix"):
            self.app.handle(SITE, row, self.now)
        self.kept.set()
        await self.send()

    async def send(self):
        while await send_due(self.journal, {"matrix": self.channel}, self.now):
            pass

    async def run_to(self, moment):
        while (wake := self.journal.next_wake()) and wake[1] <= moment:
            self.now = max(self.now, wake[1])
            self.app.tick(SITE, self.now)
        self.now = max(self.now, moment)
        await self.send()


async def test_a_good_day_over_matrix(world):
    """The first scripted day, said in direct rooms: every reply as the script wants it, and the record at the end."""
    header, *lines = map(json.loads, DAY.read_text(encoding="utf-8").splitlines())
    phones = {person["name"]: await world.phone(person["name"].lower()) for person in header["roster"]}
    site = with_matrix(site_of_header(header), {name: phone.id for name, phone in phones.items()})
    await world.log_bot_in()
    day = OnMatrix(world, site, moment(lines[0]["at"], site))
    listening = asyncio.create_task(day.channel.listen(day.keep))
    world.on_end(lambda: ended(listening))
    await day.kept.wait()
    rooms = {name: await world.room(phone, encrypted=True) for name, phone in phones.items()}
    for line in lines:
        if "at" in line:
            await day.run_to(moment(line["at"], site))
        if "text" in line:
            phone = phones[line["from"]]
            question = await phone.say(rooms[line["from"]], line["text"])
            await check_reply(phone, question, line, world.bot_id)
        if "check" in line:
            record = record_of(day)
            for name in ("tally", "open_rework", "pour_ready"):
                assert record[name] == line["check"][name]


def with_matrix(site, addresses):
    people = [{**person, "phone": None, "matrix": addresses[person["name"]]} for person in site.model_dump()["people"]]
    return type(site).model_validate(site.model_dump() | {"people": people})


def moment(at, site):
    return datetime.fromisoformat(at).replace(tzinfo=site.tz).astimezone(UTC)


async def check_reply(phone, question, line, bot):
    wanted = line["expect"].get("reply_has")
    if not wanted:
        return
    reply = (await phone.answer_to(question, bot)).body
    for pattern in wanted:
        assert re.search(pattern, reply, re.IGNORECASE), (line["text"], reply)
    for pattern in line["expect"].get("reply_never", ()):
        assert not re.search(pattern, reply, re.IGNORECASE), (line["text"], reply)


async def ended(task):
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


async def test_every_report_is_recorded_and_answered_once_over_crashes(own_homeserver, tmp_path):  # noqa: F811
    """60 welds reported while the assistant is killed three times and the homeserver once: 60 welds, 60 answers."""
    world = World(own_homeserver, tmp_path)
    crew = await world.phone("orrin")
    await world.log_bot_in()
    journal = Journal.at(tmp_path / "app.db")
    journal.migrate()
    people = [{"name": "Orrin", "role": "lead", "matrix": crew.id}]
    site = site_of_file(
        {"name": "Tank", "people": people, "places": [{"name": "wall B3", "kinds": {"butt": 60}}]}, "test"
    )
    with journal.turn("site", datetime.now(UTC)) as turn:
        load_site(turn, site)
    process = Process(world, "tests.matrix.matrix_app", world.store, tmp_path / "app.db")
    process.start()
    rooms = [await world.room(crew), await world.room(crew, encrypted=True)]
    lines = [[f"splice {n} butt wall B3 done" for n in range(1 + half, 61, 2)] for half in (0, 1)]
    sent = await crash_while_asking(world, crew, process, rooms, lines, kills=3, server_kills=1)
    assert [len(answers(crew.seen, event, world.bot_id)) for event in sent] == [1] * 60
    assert [event for event in crew.seen if isinstance(event, nio.MegolmEvent)] == []
    with journal.turn("site", datetime.now(UTC)) as turn:
        assert sorted(splice.number for splice in turn.log.splices()) == list(range(1, 61))
