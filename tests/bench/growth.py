"""How a tally, a splice's history and "can we pour" grow with the log: 1,000 to 100,000 splices; --million for more.

By hand: ``python -m tests.bench.growth [--million]``. Medians [ms] of the whole message, and the peak memory [MB].
"""

import resource
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sitebot import entries as e
from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.message import Incoming
from sitebot.site import read_site_file
from sitebot.stage import Stage

START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)
SIZES = (1_000, 10_000, 100_000)
QUESTIONS = {"tally": "how many splices total", "history": "history of splice 7", "pour": "can we pour ring wall A"}


def grow(stage: Stage, first: int, last: int) -> None:
    """Report and accept splices, 250 a day, 60 at a place before the next."""
    for at in range(first, last, 1000):
        with stage.journal.turn(stage.name, stage.now) as turn:
            batch = []
            for n in range(at, min(at + 1000, last)):
                day = (START - timedelta(days=n // 250)).date().isoformat()
                place = "ring wall A" if n < 500 else f"wall {n // 60 % 97}"
                batch.append(
                    e.SpliceReported(number=n + 1, day=day, made_at=START.isoformat(), place=place, kind="butt")
                )
                batch.append(e.VerdictGiven(number=n + 1, verdict="accept"))
            turn.record(batch, "p1")


def ask(stage: Stage, text: str, times: int = 7) -> float:
    """Median milliseconds from a question to its commit."""
    taken = []
    for _ in range(times):
        stage.now += timedelta(minutes=2)
        stage.count += 1
        message = Incoming("memory", f"q{stage.count}", stage.addresses["Garrick"], text, stage.now)
        began = time.perf_counter()
        stage.app.receive(stage.name, message, stage.now)
        taken.append(1000 * (time.perf_counter() - began))
    return statistics.median(taken)


def main(sizes: tuple[int, ...]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        stage = Stage(read_site_file(HERE / "site.toml"), START, Journal(f"sqlite:///{Path(folder) / 'log.db'}"))
        done = 0
        for size in sizes:
            grow(stage, done, size)
            done = size
            for text in QUESTIONS.values():
                ask(stage, text, 2)
            figures = ", ".join(f"{name} {ask(stage, text):.1f} ms" for name, text in QUESTIONS.items())
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{size:>9,} splices: {figures}; peak {memory:.0f} MB", flush=True)
        began = time.perf_counter()
        faults = list(check(stage.journal, stage.name))
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        took = time.perf_counter() - began
        print(f"check of {2 * done:,} entries: {took:.0f} s, {faults or 'whole'}, peak {memory:.0f} MB")


if __name__ == "__main__":
    main((*SIZES, 1_000_000) if "--million" in sys.argv else SIZES)
