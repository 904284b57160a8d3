"""A thousand sites in one database: what a message costs there, beside the same on one site. Memory of the process."""

from __future__ import annotations

import statistics
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from sitebot.message import Incoming
from sitebot.stage import Stage, load_site
from tests.bench.road import START, stage_at

SITES = 1000


def fill(stage: Stage, sites: int) -> None:
    """The same people on every site: no address leads to one of them alone, so messages are kept by their site."""
    for n in range(sites):
        with stage.journal.turn(f"site{n:04}", START) as turn:
            load_site(turn, stage.site)


def ask(stage: Stage, names: list[str], times: int = 60) -> float:
    """Median milliseconds of a report, each on the next of the sites."""
    taken = []
    for n in range(times):
        at = START + timedelta(seconds=70 * (n + 1))
        name = names[n % len(names)]
        message = Incoming(
            "memory", f"s{name}{n}", stage.addresses["Tobin"], f"1 butt ring wall A, {350 + n} F", at, at
        )
        began = time.perf_counter()
        stage.app.receive(name, message, at)
        taken.append(1000 * (time.perf_counter() - began))
    return statistics.median(taken)


def measure(sites: int = SITES) -> tuple[float, float]:
    """Median milliseconds of a message on the only site, and among a thousand, each time on another."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        stage = stage_at(folder, "one.db")
        ask(stage, [stage.name], 10)
        alone = ask(stage_at(folder, "alone.db"), ["site"])
        fill(stage, sites)
        among = ask(stage, [f"site{n:04}" for n in range(0, sites, max(1, sites // 60))])
        return alone, among
