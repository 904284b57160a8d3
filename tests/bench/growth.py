"""How a tally, a splice's history and "can we pour" grow with the log: 1,000 to 100,000 splices; --million for more.

By hand: ``python -m tests.bench.growth [--million]``. Medians [ms] of the question alone (log read, answer worded), of
the whole message (kept, read, answered, recorded, two commits to the disk), and the peak memory [MB].
The log is written in bulk, row by row what the assistant would write; ``check`` of the smallest size proves that it is.
"""

import json
import resource
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sitebot import entries as e
from sitebot.acts import Act
from sitebot.demo import HERE
from sitebot.journal import Journal, chain
from sitebot.journal import tables as t
from sitebot.journal.check import check
from sitebot.message import Incoming
from sitebot.reports.opened import read_from
from sitebot.respond import respond
from sitebot.site import read_site_file
from sitebot.stage import Stage
from sitebot.wording import render_all

START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)
SIZES = (1_000, 10_000, 100_000)
QUESTIONS = {
    "today": ("how many today", Act("ask_tally", {"period": "today"})),
    "all time": ("how many splices total", Act("ask_tally", {"period": "all"})),
    "by place": ("tally by place", Act("ask_tally", {"period": "all", "by": "place"})),
    "history": ("history of splice 7", Act("ask_splice", {"number": 7, "history": True})),
    "pour": ("can we pour ring wall A", Act("ask_pour", {"place": "ring wall A"})),
}


def grow(stage: Stage, first: int, last: int) -> None:
    """Splices reported and accepted, 250 a day, 60 at a place before the next."""
    with stage.journal.turn(stage.name, stage.now) as turn:
        seq, before = turn.head()
        rows: dict[str, list[dict[str, object]]] = {"entries": [], "splices": [], "splice_entries": []}
        counts: dict[tuple[str, str], int] = {}
        for n in range(first, last):
            day = (START - timedelta(days=n // 250)).date().isoformat()
            place = "ring wall A" if n < 500 else f"wall {n // 60 % 97}"
            told = e.SpliceReported(number=n + 1, day=day, made_at=START.isoformat(), place=place, kind="butt")
            for entry in (told, e.VerdictGiven(number=n + 1, verdict="accept")):
                seq += 1
                kind, body = type(entry).__name__, chain.canonical(e.body_of(entry))
                told_as = {"site": stage.name, "seq": seq, "kind": kind, "body": body, "person": "p1", "cause": 0}
                before = chain.link(before, at=t.utc_text(stage.now), **told_as)
                rows["entries"].append({**told_as, "at": stage.now, "hash": before})
                rows["splice_entries"].append({"site": stage.name, "number": n + 1, "seq": seq})
            rows["splices"].append(_row(stage, told))
            for of in (day, ""):
                counts[of, place] = counts.get((of, place), 0) + 1
        for name, values in rows.items():
            turn._tx.execute(t.metadata.tables[name].insert(), values)
        _add(turn, stage.name, counts)
        turn._sign(seq, before)


def _row(stage: Stage, told: e.SpliceReported) -> dict[str, object]:
    values = {
        name: getattr(told, name) for name in ("number", "place", "kind", "iron", "temp_f", "profile", "lot", "day")
    }
    values |= {"redo_of": None, "late": False, "before_sample": False, "damaged": False, "findings": "{}"}
    values |= {"welders": json.dumps(told.welders), "made_at": START, "status": "accepted", "told_by": "p1"}
    values |= {"defect": None, "value": None, "unit": None, "verdict_by": "p1", "self_inspected": False, "open": False}
    return {**values, "site": stage.name, "told_at": stage.now}


def _add(turn, site: str, counts: dict[tuple[str, str], int]) -> None:
    c = t.counts
    for (day, place), n in counts.items():
        keys = {"site": site, "day": day, "place": place, "kind": "butt", "status": "accepted"}
        same = [c.c[k] == v for k, v in keys.items()]
        if not turn._tx.execute(c.update().where(*same).values(n=c.c.n + n)).rowcount:
            turn._tx.execute(c.insert().values(**keys, n=n))


def question(stage: Stage, act: Act, times: int = 15) -> float:
    """Median milliseconds from the opened log to the words of the answer."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        with read_from(stage.journal, stage.name, stage.now) as (desk, _head):
            assert render_all(respond(act, _as_lead(desk)).says, "en")
        taken.append(1000 * (time.perf_counter() - began))
    return statistics.median(taken)


def _as_lead(desk):
    from dataclasses import replace

    return replace(desk, person=next(p for p in desk.log.people() if p.role == "superintendent"))


def ask(stage: Stage, text: str, times: int = 7) -> float:
    """Median milliseconds from a message to its commit."""
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
        print(f"{'':>9} {'':>8} " + " ".join(f"{name:>9}" for name in QUESTIONS), flush=True)
        for size in sizes:
            grow(stage, done, size)
            if not done:
                assert list(check(stage.journal, stage.name)) == []
            done = size
            for name, measure in (
                ("question", lambda q: question(stage, q[1])),
                ("message", lambda q: ask(stage, q[0])),
            ):
                for asked in QUESTIONS.values():
                    measure(asked)
                figures = " ".join(f"{measure(asked):9.1f}" for asked in QUESTIONS.values())
                print(f"{size:>9,} {name:>8} {figures}", flush=True)
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{size:>9,} peak {memory:.0f} MB", flush=True)


if __name__ == "__main__":
    main((*SIZES, 1_000_000) if "--million" in sys.argv else SIZES)
