"""Messages a second through ``handle()`` on SQLite, each durably committed, beside the bare statements of the run."""

import itertools
import sqlite3
import statistics
import tempfile
import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg
import sqlalchemy as sa

from sitebot.acts import Reading
from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.message import Incoming
from sitebot.site import read_site_file
from sitebot.stage import Stage

TEXTS = [
    ("Tobin", "1 butt ring wall A, iron 1, 370"),
    ("Amaro", "hice un recto en floor joint 2"),
    ("Garrick", "how many today"),
    ("Tobin", "whats the cut for a 90 flat corner"),
    ("Garrick", "can we pour ring wall A"),
]
START = datetime(2026, 4, 14, 14, 0, tzinfo=UTC)


def stage_at(folder: Path, name: str) -> Stage:
    return Stage(read_site_file(HERE / "site.toml"), START, Journal.at(folder / name))


def messages(stage: Stage, count: int) -> list[Incoming]:
    out = []
    for n, (who, text) in zip(range(count), itertools.cycle(TEXTS), strict=False):
        # Far enough apart that no text is taken for the one before, sent again.
        at = START + timedelta(seconds=13 * n)
        out.append(Incoming("memory", f"b{n}", stage.addresses[who], text, at, at))
    return out


class Tape:
    """Every statement that the driver is given from now on with its parameters, in order."""

    def __init__(self, engine: sa.Engine) -> None:
        self.lines: list[tuple[str, object]] = []
        engine.dispose()
        sa.event.listen(engine, "do_connect", self._connecting)
        sa.event.listen(engine, "commit", lambda _: self.lines.append(("COMMIT", ())))

    def _connecting(self, dialect: sa.Dialect, record: object, args: object, how: dict) -> None:
        if dialect.name == "sqlite":
            cursors = self._cursors(sqlite3.Cursor)

            class Connection(sqlite3.Connection):
                def cursor(self, factory=cursors):
                    return super().cursor(factory)

                def execute(self, statement, parameters=()):
                    return self.cursor().execute(statement, parameters)

            how["factory"] = Connection
        else:
            how["cursor_factory"] = self._cursors(psycopg.Cursor)

    def _cursors(self, driver_s: type) -> type:
        lines = self.lines

        class Cursor(driver_s):
            def execute(self, statement, parameters=(), **more):
                lines.append((statement, parameters))
                return super().execute(statement, parameters, **more)

            def executemany(self, statement, several):
                lines.extend((statement, parameters) for parameters in several)
                return super().executemany(statement, several)

        return Cursor


def replay(tape: Tape, path: Path) -> float:
    """Seconds for the same statements and commits by the bare driver."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    began = time.perf_counter()
    for statement, parameters in tape.lines:
        if not statement.startswith("PRAGMA"):
            db.execute(statement, parameters).fetchall()
    return time.perf_counter() - began


@dataclass
class Measured:
    """One way of taking messages: how many a second, and what it costs."""

    name: str
    rate: float
    #: Of the floor of the same run.
    share: float
    #: Of this process alone, whatever else the machine does [ms].
    cpu: float = 0.0
    #: From the first row of the inbox to the commit of the answer [ms].
    p50: float = 0.0
    p99: float = 0.0
    statements: float = 0.0


#: So many messages wait at once where commits are shared.
TOGETHER = 16


def measure(count: int = 600) -> list[Measured]:
    """The floor; one by one without and with reading; several with one commit, the same."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        tape, bare = taped(folder, count)
        floor = count / replay(tape, bare)
        found = [Measured("bare statements and commits", floor, 1.0, statements=len(tape.lines) / count)]
        for words, read, together in (
            ("one by one, without reading", False, 1),
            ("one by one, with reading", True, 1),
            (f"{TOGETHER} waiting, without reading", False, TOGETHER),
            (f"{TOGETHER} waiting, with reading", True, TOGETHER),
        ):
            rate, cpu, taken = run(stage_at(folder, f"{words}.db"), count, read, together)
            p50, p99 = statistics.median(taken), statistics.quantiles(taken, n=100)[98]
            found.append(Measured(words, rate, rate / floor, cpu, p50, p99))
        return found


def taped(folder: Path, count: int) -> tuple[Tape, Path]:
    """The statements of the road without reading, and a copy of the database as it was before them."""
    stage = stage_at(folder, "tape.db")
    known_readings(stage)
    feed = messages(stage, count + 20)
    take(stage, feed[:20], 1)
    with sqlite3.connect(folder / "tape.db") as db:
        db.execute("VACUUM INTO ?", (str(folder / "bare.db"),))
    tape = Tape(stage.journal.engine)
    take(stage, feed[20:], 1)
    return tape, folder / "bare.db"


def run(stage: Stage, count: int, read: bool, together: int) -> tuple[float, float, list[float]]:
    """Messages a second, the processor's milliseconds for one, and how long each took from inbox to outbox [ms]."""
    if not read:
        known_readings(stage)
    feed = messages(stage, count + 20)
    take(stage, feed[:20], 1)
    began, worked = time.perf_counter(), time.process_time()
    taken = take(stage, feed[20:], together)
    return count / (time.perf_counter() - began), 1000 * (time.process_time() - worked) / count, taken


def take(stage: Stage, feed: list[Incoming], together: int) -> list[float]:
    """So many are kept at once and answered with one commit, as a worker does; how long each took [ms]."""
    taken = []
    for at in range(0, len(feed), together):
        some = feed[at : at + together]
        now, began = some[-1].received_at, time.perf_counter()
        rows = stage.journal.keep(stage.name, some)
        if together == 1:
            stage.app.handle(stage.name, rows[0], now)
        else:
            assert stage.app.handle_all(stage.name, rows, now) == (len(some), None)
        taken += [1000 * (time.perf_counter() - began)] * len(some)
    return taken


def known_readings(stage: Stage) -> None:
    """Every text is read once and then known: the road without reading."""
    whole, known = stage.app.reader, dict[str, Reading]()

    def reader(text, context):
        if text not in known:
            known[text] = whole(text, context)
        return known[text]

    stage.app.reader = reader
