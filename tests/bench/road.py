"""Messages a second through ``handle()`` on SQLite, each durably committed, beside the bare statements of the run."""

import itertools
import sqlite3
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

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
    """Every statement of a run with its parameters, in order."""

    def __init__(self, engine: sa.Engine) -> None:
        self.lines: list[tuple[str, object]] = []
        sa.event.listen(engine, "before_cursor_execute", self._statement)
        sa.event.listen(engine, "commit", lambda _: self.lines.append(("COMMIT", ())))

    def _statement(self, connection, cursor, statement, parameters, context, many) -> None:
        self.lines.append((statement, parameters))


def replay(tape: Tape, path: Path) -> float:
    """Seconds for the same statements and commits by the bare driver."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    began = time.perf_counter()
    for statement, parameters in tape.lines:
        db.execute(statement, parameters).fetchall()
    return time.perf_counter() - began


def measure(count: int = 600) -> list[tuple[str, float, float]]:
    """(name, messages a second, share of the floor)."""
    with tempfile.TemporaryDirectory() as folder:
        return _measure(Path(folder), count)


def _measure(folder: Path, count: int) -> list[tuple[str, float, float]]:
    stage = stage_at(folder, "road.db")
    feed = messages(stage, count + 20)
    for message in feed[:20]:
        stage.app.receive(stage.name, message, message.received_at)
    stage.journal.engine.dispose()
    with sqlite3.connect(folder / "road.db") as db:
        db.execute("VACUUM INTO ?", (str(folder / "bare.db"),))
    tape = Tape(stage.journal.engine)
    with_reading = _run(stage, feed[20:])
    floor = count / replay(tape, folder / "bare.db")
    unread = _without_reading(folder, feed)
    return [
        ("bare statements and commits", floor, 1.0),
        ("handle() without reading", unread, unread / floor),
        ("handle() with reading", with_reading, with_reading / floor),
    ]


def _run(stage: Stage, feed: list[Incoming]) -> float:
    began = time.perf_counter()
    for message in feed:
        stage.app.receive(stage.name, message, message.received_at)
    return len(feed) / (time.perf_counter() - began)


def _without_reading(folder: Path, feed: list[Incoming]) -> float:
    """The same road with every text read once and then known."""
    stage = stage_at(folder, "unread.db")
    whole, known = stage.app.reader, dict[str, Reading]()

    def reader(text, context):
        if text not in known:
            known[text] = whole(text, context)
        return known[text]

    stage.app.reader = reader
    for message in feed[:20]:
        stage.app.receive(stage.name, message, message.received_at)
    return _run(stage, feed[20:])
