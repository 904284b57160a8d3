"""Many sites with wakes ahead, on both databases: what it costs to start, to find the next, and to tick one site.

python -m tests.bench.wakes [PENDING]
"""

import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

import sqlalchemy as sa

from sitebot import reminders
from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.journal import tables as t
from sitebot.site import read_site_file
from sitebot.stage import Stage
from tests.databases import Server

START = datetime(2026, 4, 14, 10, 0, tzinfo=UTC)
#: Wakes a site has ahead, as many as a working site has.
EACH = 6
KEY = b"k" * 32


def filled(url: str, pending: int) -> Stage:
    """A real site among made-up ones; ``pending`` wakes in all, those of the others later than its own."""
    stage = Stage(read_site_file(HERE / "site.toml"), START, Journal(url, KEY))
    rows = [
        {"site": f"s{n // EACH}", "what": f"w{n % EACH}", "due_at": START + timedelta(days=1, seconds=n)}
        for n in range(pending)
    ]
    with stage.journal.engine.begin() as tx:
        tx.execute(t.wakes.insert(), rows)
    return stage


def timed(work, times: int = 20) -> float:
    """Median milliseconds."""
    found = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        found.append((time.perf_counter() - began) * 1000)
    return median(found)


def started(url: str) -> None:
    """A new process' way to its first wake: open, schema, next row."""
    journal = Journal(url, KEY)
    journal.migrate()
    journal.next_wake()
    journal.close()


def measure(url: str, pending: int) -> dict[str, float]:
    """Milliseconds by name, on an empty database."""
    stage = filled(url, pending)
    with stage.journal.engine.begin() as tx:
        assert tx.execute(sa.select(sa.func.count()).select_from(t.wakes)).scalar_one() >= pending

    def look() -> None:
        with stage.journal.turn(stage.name, START) as turn:
            reminders.wakes(turn.log.site(), turn.log, START)

    found = {
        "start to the first wake": timed(lambda: started(url), 5),
        "next wake": timed(stage.journal.next_wake, 200),
        "when to wake a site again": timed(look, 50),
        "a tick with nothing due": timed(lambda: stage.app.tick(stage.name, START), 50),
        "a tick that sends": _sending(stage),
    }
    stage.journal.close()
    return found


def _sending(stage: Stage) -> float:
    """Ticks of a morning in which nobody answers."""
    found = []
    end = START + timedelta(hours=4)
    while (wake := stage.journal.next_wake()) and wake[1] < end:
        began = time.perf_counter()
        sent = stage.app.tick(stage.name, wake[1])
        if sent:
            found.append((time.perf_counter() - began) * 1000)
    return median(found)


def main(pending: int = 100_000) -> None:
    server = Server(None)
    try:
        with tempfile.TemporaryDirectory() as folder:
            for url in (f"sqlite:///{Path(folder) / 'wakes.db'}", server.new()):
                print(f"{pending} pending wakes on {url.split(':')[0]}")
                for name, ms in measure(url, pending).items():
                    print(f"  {name:28} {ms:8.2f} ms")
    finally:
        server.close()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
