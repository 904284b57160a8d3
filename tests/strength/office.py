"""A telephone office in a file: what people sent stays until it is acknowledged, what is sent to them is counted.

Like a real one it delivers again what was not acknowledged, and takes a repeated key for the same message.
"""

import asyncio
import sqlite3
from contextlib import closing
from datetime import UTC, datetime

from sitebot.message import Incoming

TABLES = """
CREATE TABLE said (
    id INTEGER PRIMARY KEY, sender TEXT, text TEXT, at TEXT, acked INT DEFAULT 0, delivered INT DEFAULT 0
);
CREATE TABLE heard (key TEXT PRIMARY KEY, address TEXT, text TEXT, kind TEXT, reply_to TEXT, times INT);
"""


def opened(path):
    db = sqlite3.connect(path, timeout=30, isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=OFF")  # no power is cut here, and the office is not what is tested
    return db


class Office:
    """The people's end."""

    def __init__(self, path):
        self.path = path
        with closing(opened(path)) as db:
            db.executescript(TABLES)

    def say(self, sender, text):
        with closing(opened(self.path)) as db:
            at = datetime.now(UTC).isoformat()
            db.execute("INSERT INTO said (sender, text, at) VALUES (?, ?, ?)", (sender, text, at))

    def ask(self, query, *values):
        with closing(opened(self.path)) as db:
            return db.execute(query, values).fetchall()

    def unanswered(self):
        (row,) = self.ask(
            "SELECT count(*) FROM said WHERE NOT EXISTS (SELECT 1 FROM heard WHERE kind='reply' AND reply_to=said.id)"
        )
        return row[0]

    def answered_twice(self):
        return self.ask("SELECT reply_to, count(*) FROM heard WHERE kind='reply' GROUP BY reply_to HAVING count(*) > 1")


class OfficeChannel:
    """The assistant's end."""

    name = "sms"

    def __init__(self, path, every=0.01):
        self.db = opened(path)
        self.every = every

    async def listen(self, keep):
        while True:
            rows = self.db.execute(
                "SELECT id, sender, text, at FROM said WHERE NOT acked ORDER BY id LIMIT 5"
            ).fetchall()
            if rows:
                marks = ",".join(str(r[0]) for r in rows)
                self.db.execute(f"UPDATE said SET delivered = delivered + 1 WHERE id IN ({marks})")
                await keep([self._incoming(*row) for row in rows], {"last": str(rows[-1][0])})
                self.db.execute(f"UPDATE said SET acked = 1 WHERE id IN ({marks})")
            await asyncio.sleep(self.every)

    def _incoming(self, number, sender, text, at):
        return Incoming(self.name, str(number), sender, text, datetime.now(UTC), datetime.fromisoformat(at))

    async def send(self, out):
        self.db.execute(
            "INSERT INTO heard VALUES (?, ?, ?, ?, ?, 1) ON CONFLICT (key) DO UPDATE SET times = times + 1",
            (f"{out.address} {out.key}", out.address, out.text, out.kind, out.reply_to),
        )
        return out.key
