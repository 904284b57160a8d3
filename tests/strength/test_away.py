"""Homeserver or modem daemon away for ten minutes: the assistant goes on, says so, and delivers once afterwards."""

import asyncio
import json
from datetime import timedelta

import structlog
from structlog.testing import capture_logs

from sitebot.errors import Unreachable
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.outbox import WAITS, send_due
from tests.strength.office import OfficeChannel
from tests.strength.workers import KEY, Worker, make_log, reports, until

AWAY_S = 600


class Wire:
    """A channel that can be away."""

    def __init__(self):
        self.is_away, self.came, self.tried = False, [], 0

    async def send(self, out):
        self.tried += 1
        if self.is_away:
            raise Unreachable("the homeserver does not answer")
        self.came.append(out)
        return out.key


def second_by_second(stage, wires, seconds, said=None):
    """The clock of the site moves; each second what is due is sent; ``said`` maps seconds to what somebody writes."""
    for second in range(seconds):
        stage.now += timedelta(seconds=1)
        if said and second in said:
            stage.say(*said[second])
        asyncio.run(send_due(stage.journal, wires, stage.now))


def test_ten_minutes_away_on_a_moved_clock(stage):
    """Twenty reports meanwhile: all recorded, the log says why, and each reply goes out once, in order."""
    wire = Wire()
    wires = {"memory": wire, "sms": wire}
    second_by_second(stage, wires, 5)
    before = len(wire.came)
    wire.is_away = True
    with capture_logs() as lines:
        said = {30 * n: (("Tobin", "Amaro")[n % 2], f"1 butt ring wall A, iron 1, {350 + n}") for n in range(20)}
        second_by_second(stage, wires, AWAY_S, said)
    with stage.journal.log(stage.name) as log:
        assert log.highest() == 20
    assert {(line["event"], line["reason"]) for line in lines} >= {("not sent yet", "the homeserver does not answer")}
    assert wire.tried - before < AWAY_S / 10  # it does not hammer at a closed door
    wire.is_away = False
    second_by_second(stage, wires, WAITS[-1] + 5)
    replies = [out for out in wire.came[before:] if out.kind == "reply"]
    for name in ("Tobin", "Amaro"):
        his = [int(out.key.split("-")[0]) for out in replies if out.address == stage.addresses[name]]
        assert his == sorted(set(his))
    assert len(replies) == 20
    load = stage.journal.load()
    assert (load.queued, load.not_sent) == (0, 0)


def test_a_worker_lives_through_it(tmp_path, office):
    """A real worker whose office hangs up: it stays alive, says so, and answers each text once after."""
    url = f"sqlite:///{tmp_path / 'log.db'}"
    (senders,) = make_log(url)
    texts, door, said = reports(9), tmp_path / "away", tmp_path / "said.json"
    worker = Worker.start(url, (office.path, door, said), entry=with_a_door)
    office.say(senders[0], next(texts))
    assert until(lambda: office.unanswered() == 0)
    door.touch()
    for n in range(16):
        office.say(senders[n % 8], next(texts))
    assert until(lambda: said.exists() and "channel pauses" in said.read_text())
    assert office.unanswered() == 16
    door.unlink()
    assert until(lambda: office.unanswered() == 0)
    worker.kill()
    assert office.answered_twice() == []
    journal = Journal(url, KEY)
    assert list(check(journal, "site")) == []
    with journal.log("site") as log:
        assert log.highest() == 17
    journal.close()
    paused = [line for line in map(json.loads, said.read_text().splitlines()) if line["event"] == "channel pauses"]
    assert {(line["channel"], line["reason"]) for line in paused} == {("sms", "the office does not answer")}


class Door(OfficeChannel):
    """The office, as long as no file stands in the door."""

    def __init__(self, path, door):
        super().__init__(path)
        self.door = door

    async def listen(self, keep):
        listening = asyncio.create_task(super().listen(keep))
        while not self.door.exists():
            await asyncio.sleep(0.01)
        listening.cancel()
        raise Unreachable("the office does not answer")

    async def send(self, out):
        if self.door.exists():
            raise Unreachable("the office does not answer")
        return await super().send(out)


def with_a_door(url, paths, home):
    """A worker with short waits, whose log lines go into a file."""
    from sitebot import held
    from sitebot.app import App
    from sitebot.running import Running
    from tests.strength.workers import MANY, RULES

    office, door, said = paths
    with said.open("a", buffering=1) as file:
        structlog.configure(
            processors=[structlog.processors.JSONRenderer()], logger_factory=structlog.PrintLoggerFactory(file)
        )
        held.PAUSE = 0.1
        app = App(Journal(url, KEY, MANY), RULES)
        asyncio.run(Running(app, {"sms": lambda _: Door(office, door)}, home).run())
