"""Messages a second by whole workers on PostgreSQL: one and three, on as many sites as workers.

By hand: ``python -m tests.bench.postgres``. Each worker is a process; a message is kept, read, answered and committed.
The floor is the same statements and commits by the bare driver, replayed on the same server by one connection.
"""

from __future__ import annotations

import itertools
import multiprocessing
import sys
import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import psutil
import psycopg
import sqlalchemy as sa

from sitebot.demo import HERE
from sitebot.journal import Journal, Limits
from sitebot.message import Incoming
from sitebot.site import read_site_file
from sitebot.stage import Stage
from tests.bench.road import TEXTS, Tape, known_readings
from tests.databases import Server

START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)
KEY = b"k" * 32
#: Like texts of one sender are further apart than this, or they would be taken for one sent twice [s].
APART = 13
OPEN = Limits(person_hour=10**6, stranger_hour=10**6, site_minute=10**6)


def opened(url: str, site: str) -> Stage:
    return Stage(read_site_file(HERE / "site.toml"), START, Journal(url, KEY, OPEN), site)


def feed(stage: Stage, count: int) -> list[Incoming]:
    texts = itertools.cycle(TEXTS)
    times = (START + timedelta(seconds=APART * n) for n in itertools.count())
    rows = ((n, who, text, at) for n, ((who, text), at) in enumerate(zip(texts, times, strict=False)))
    return [
        Incoming("memory", f"b{n}", stage.addresses[who], f"{text}{' ' * (n % 3)}", at, at)
        for n, who, text, at in itertools.islice(rows, count)
    ]


def work(url: str, site: str, count: int, read: bool, start, done) -> None:
    stage = opened(url, site)
    if not read:
        known_readings(stage)
    messages = feed(stage, count + 20)
    for message in messages[:20]:
        stage.app.receive(site, message, message.received_at)
    start.wait()
    began, worked = time.monotonic(), time.process_time()
    for message in messages[20:]:
        stage.app.receive(site, message, message.received_at)
    done.put((began, time.monotonic(), time.process_time() - worked))


@dataclass
class Measured:
    """Messages a second, and what they cost the processors [ms a message]; ``cores``: how many were kept busy."""

    name: str
    rate: float
    share: float = 0.0
    workers_ms: float = 0.0
    server_ms: float = 0.0

    @property
    def cores(self) -> float:
        return self.rate * (self.workers_ms + self.server_ms) / 1000


def server_seconds(server: Server) -> float:
    """The processor's seconds of all processes of the server, those that have ended included."""
    postmaster = psutil.Process(int((server.folder / "data" / "postmaster.pid").read_text().split()[0]))
    own = postmaster.cpu_times()
    return sum(own) + sum(map(_used, postmaster.children()))


def _used(process: psutil.Process) -> float:
    try:
        times = process.cpu_times()
    except psutil.NoSuchProcess:  # ended a moment ago: the postmaster has its seconds
        return 0.0
    return times.user + times.system


def rate(server: Server, workers: int, count: int, read: bool) -> Measured:
    """Messages a second of all workers together, each on a site of its own."""
    url, context = server.new(), multiprocessing.get_context("fork")
    start, done = context.Barrier(workers + 1), context.Queue()
    for n in range(workers):
        opened(url, f"site{n}").journal.close()
    processes = [context.Process(target=work, args=(url, f"site{n}", count, read, start, done)) for n in range(workers)]
    for process in processes:
        process.start()
    before = server_seconds(server)
    start.wait()
    times = [done.get() for _ in processes]
    for process in processes:
        process.join()
    served, taken = server_seconds(server) - before, workers * count
    seconds = max(end for _, end, _ in times) - min(begin for begin, _, _ in times)
    words = f"{workers} worker{'s' * (workers > 1)}, {'with' if read else 'without'} reading"
    worked = sum(cpu for _, _, cpu in times)
    return Measured(words, taken / seconds, 0.0, 1000 * worked / taken, 1000 * served / taken)


def taped(url: str, count: int) -> tuple[Tape, int]:
    """The statements of the road without its reading, from a run on a database of their own."""
    stage = opened(url, "site0")
    known_readings(stage)
    messages = feed(stage, count + 20)
    for message in messages[:20]:
        stage.app.receive("site0", message, message.received_at)
    return stage, messages


def postgres_floor(server: Server, count: int) -> float:
    first, second = server.new(), None
    stage, messages = taped(first, count)
    stage.journal.engine.dispose()
    second = server.new()
    name, copy = sa.make_url(first).database, sa.make_url(second).database
    server._say(f"DROP DATABASE {copy}")
    server._say(f"CREATE DATABASE {copy} TEMPLATE {name}")
    tape = Tape(stage.journal.engine)
    for message in messages[20:]:
        stage.app.receive("site0", message, message.received_at)
    stage.journal.close()
    address = sa.make_url(second).set(drivername="postgresql").render_as_string(hide_password=False)
    with psycopg.connect(address, autocommit=True) as db:
        began = time.perf_counter()
        in_turn = False
        for statement, parameters in tape.lines:
            if statement == "COMMIT":
                if in_turn:
                    db.execute("COMMIT")
                in_turn = False
                continue
            if not in_turn:
                db.execute("BEGIN")
                in_turn = True
            db.execute(statement, parameters or None)
        return count / (time.perf_counter() - began)


def measure(count: int = 300) -> list[Measured]:
    """The floor of one connection, then one worker and three."""
    server = Server(None)
    try:
        floor = postgres_floor(server, count)
        found = [rate(server, workers, count, read) for read, workers in itertools.product((False, True), (1, 3))]
        for measured in found:
            measured.share = measured.rate / floor
        return [Measured("floor of one connection", floor, 1.0), *found]
    finally:
        server.close()


if __name__ == "__main__":
    for m in measure(*map(int, sys.argv[1:])):
        costs = f"CPU ms: workers {m.workers_ms:5.2f}, server {m.server_ms:5.2f}; {m.cores:4.2f} cores busy"
        print(f"{m.name:32} {m.rate:8.1f}/s {m.share:6.2f}  {costs}")
