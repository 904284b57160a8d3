"""Many sites with wakes ahead, on SQLite: what it costs to start, to find the next, and to tick one site.

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

START = datetime(2026, 4, 14, 10, 0, tzinfo=UTC)
#: Wakes a site has ahead, as many as a working site has.
EACH = 6


def filled(folder: Path, pending: int) -> Stage:
    """A real site among made-up ones; ``pending`` wakes in all, those of the others later than its own."""
    stage = Stage(read_site_file(HERE / "site.toml"), START, Journal.at(folder / "wakes.db"))
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
    journal = Journal(url, b"x" * 32)
    journal.migrate()
    journal.next_wake()
    journal.close()


def measure(pending: int = 100_000) -> dict[str, float]:
    """Milliseconds by name."""
    with tempfile.TemporaryDirectory() as folder:
        stage = filled(Path(folder), pending)
        with stage.journal.engine.begin() as tx:
            assert tx.execute(sa.select(sa.func.count()).select_from(t.wakes)).scalar_one() >= pending

        def look() -> None:
            with stage.journal.turn(stage.name, START) as turn:
                reminders.wakes(turn.log.site(), turn.log, START)

        return {
            "start to the first wake": timed(lambda: started(stage.journal.url), 5),
            "next wake": timed(stage.journal.next_wake, 200),
            "when to wake a site again": timed(look, 50),
            "a tick with nothing due": timed(lambda: stage.app.tick(stage.name, START), 50),
            "a tick that sends": _sending(stage),
        }


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


def main() -> None:
    pending = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    print(f"{pending} pending wakes")
    for name, ms in measure(pending).items():
        print(f"  {name:28} {ms:8.2f} ms")


if __name__ == "__main__":
    main()
