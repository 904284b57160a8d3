"""How a tally, a splice's history, "can we pour" and the day's report grow with the log: 1,000 to 1,000,000 splices.

By hand: ``python -m tests.bench.growth [SIZES]``. Medians [ms] of the question alone (log read, answer worded; of the
report: put together, not yet drawn), of the whole message (kept, read, answered, recorded, two commits to the disk),
and the peak memory [MB]. The log is written in bulk, row by row what turns leave: record/test_growth.py compares.
"""

import json
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sitebot import entries as e
from sitebot.acts import Act
from sitebot.demo import HERE
from sitebot.journal import Journal, chain
from sitebot.journal import tables as t
from sitebot.journal.check import check
from sitebot.message import Incoming
from sitebot.reports.daily import daily
from sitebot.reports.opened import read_from
from sitebot.respond import respond
from sitebot.site import read_site_file
from sitebot.stage import Stage
from sitebot.wording import render_all

START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)
SIZES = (1_000, 10_000, 100_000, 1_000_000)
#: So many splices are written with one commit.
AT_ONCE = 20_000
QUESTIONS = {
    "today": ("how many today", Act("ask_tally", {"period": "today"})),
    "all time": ("how many splices total", Act("ask_tally", {"period": "all"})),
    "by place": ("tally by place", Act("ask_tally", {"period": "all", "by": "place"})),
    "history": ("history of splice 7", Act("ask_splice", {"number": 7, "history": True})),
    "pour": ("can we pour ring wall A", Act("ask_pour", {"place": "ring wall A"})),
}


def told(n: int) -> list[e.Entry]:
    """The n-th splice reported and accepted: 250 a day, 60 at one of nine places before the next."""
    day = (START - timedelta(days=n // 250)).date().isoformat()
    place = "ring wall A" if n < 500 else f"wall {n // 60 % 8}"
    made = e.SpliceReported(number=n + 1, day=day, made_at=START.isoformat(), place=place, kind="butt")
    return [made, e.VerdictGiven(number=n + 1, verdict="accept")]


def grow(stage: Stage, first: int, last: int) -> None:
    """The log with so many splices more, in bulk."""
    for n in range(first, last, AT_ONCE):
        _grow(stage, n, min(n + AT_ONCE, last))


def _grow(stage: Stage, first: int, last: int) -> None:
    with stage.journal.turn(stage.name, stage.now) as turn:
        seq, before = turn.head()
        rows: dict[str, list[dict[str, object]]] = {"entries": [], "splices": [], "splice_entries": []}
        counts: dict[tuple[str, str], int] = {}
        for n in range(first, last):
            for entry in (entries := told(n)):
                seq += 1
                kind, body = type(entry).__name__, chain.canonical(e.body_of(entry))
                told_as = {"site": stage.name, "seq": seq, "kind": kind, "body": body, "person": "p1", "cause": 0}
                before = chain.link(before, at=t.utc_text(stage.now), **told_as)
                rows["entries"].append({**told_as, "at": stage.now, "hash": before})
                rows["splice_entries"].append({"site": stage.name, "number": n + 1, "seq": seq})
            rows["splices"].append(_row(stage, entries[0]))
            for of in (entries[0].day, ""):
                counts[of, entries[0].place] = counts.get((of, entries[0].place), 0) + 1
        for name, values in rows.items():
            turn._tx.execute(t.metadata.tables[name].insert(), values)
        _add(turn, stage.name, counts)
        turn._sign(seq, before)


def _row(stage: Stage, made: e.SpliceReported) -> dict[str, object]:
    values = {
        name: getattr(made, name)
        for name in ("number", "place", "kind", "iron", "temp_f", "temp_by", "profile", "lot", "day")
    }
    values |= {"redo_of": None, "late": False, "before_sample": False, "damaged": False, "findings": "{}"}
    values |= {"welders": json.dumps(made.welders), "made_at": START, "status": "accepted", "told_by": "p1"}
    values |= {"defect": None, "value": None, "unit": None, "verdict_by": "p1", "self_inspected": False, "open": False}
    return {**values, "site": stage.name, "told_at": stage.now, "judged_at": stage.now}


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


def report(stage: Stage, times: int = 7) -> float:
    """Median milliseconds of the day's report, put together."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        with read_from(stage.journal, stage.name, stage.now) as (desk, head):
            assert daily(desk, START.date().isoformat(), head).splices
        taken.append(1000 * (time.perf_counter() - began))
    return statistics.median(taken)


def _as_lead(desk):
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


def main(sizes: Sequence[int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        stage = Stage(read_site_file(HERE / "site.toml"), START, Journal(f"sqlite:///{Path(folder) / 'log.db'}"))
        done = 0
        print(f"{'':>9} {'':>8} " + " ".join(f"{name:>9}" for name in (*QUESTIONS, "report")), flush=True)
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
                figures = [measure(asked) for asked in QUESTIONS.values()]
                figures += [report(stage)] if name == "question" else []
                print(f"{size:>9,} {name:>8} " + " ".join(f"{ms:9.2f}" for ms in figures), flush=True)
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{size:>9,} peak {memory:.0f} MB", flush=True)


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or SIZES)
