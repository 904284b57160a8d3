"""Messages a second by whole workers on PostgreSQL: one and three, on as many sites as workers.

By hand: ``python -m tests.bench.postgres``. Each worker is a process; a message is kept, read, answered and committed.
The floor is the same statements and commits by the bare driver, replayed on the same server by one connection.
"""

from __future__ import annotations

import itertools
import multiprocessing
import sys
import time
from datetime import UTC, datetime, timedelta

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
    began = time.monotonic()
    for message in messages[20:]:
        stage.app.receive(site, message, message.received_at)
    done.put((began, time.monotonic()))


def rate(url: str, workers: int, count: int, read: bool) -> float:
    """Messages a second of all workers together, each on a site of its own."""
    context = multiprocessing.get_context("fork")
    start, done = context.Barrier(workers), context.Queue()
    for n in range(workers):
        opened(url, f"site{n}").journal.close()
    processes = [context.Process(target=work, args=(url, f"site{n}", count, read, start, done)) for n in range(workers)]
    for process in processes:
        process.start()
    times = [done.get() for _ in processes]
    for process in processes:
        process.join()
    return workers * count / (max(end for _, end in times) - min(begin for begin, _ in times))


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


def measure(count: int = 300) -> list[tuple[str, float, float]]:
    """(name, messages a second, share of the floor of one connection)."""
    server = Server(None)
    try:
        floor = postgres_floor(server, count)
        found = [("floor of one connection", floor, 1.0)]
        for workers, read in itertools.product((1, 3), (False, True)):
            got = rate(server.new(), workers, count, read)
            words = f"{workers} worker{'s' * (workers > 1)}, {'with' if read else 'without'} reading"
            found.append((words, got, got / floor))
        return found
    finally:
        server.close()


if __name__ == "__main__":
    for name, got, share in measure(*map(int, sys.argv[1:])):
        print(f"{name:32} {got:8.1f}/s {share:6.2f}")
