"""A tiny durable assistant for the tests of the channel: an inbox and an outbox in SQLite, every text is echoed once.

Run as a program (store, log, roster ...) it is what the crash tests kill. No test lives here.
"""

from __future__ import annotations

import asyncio
import json
import pathlib
import sqlite3
import sys
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from sitebot.channels.matrix.channel import MatrixChannel
from sitebot.errors import ChannelError, LoggedOut, Refused
from sitebot.message import Incoming, Outgoing

TABLES = """
create table if not exists inbox(seq integer primary key, external_id text unique, body text);
create table if not exists outbox(seq integer primary key, key text unique, body text, event_id text);
create table if not exists state(key text primary key, value text);
"""


class Ledger:
    """Inbox, outbox and channel state in one file."""

    def __init__(self, file: pathlib.Path | str) -> None:
        self.db = sqlite3.connect(file, isolation_level=None)
        self.db.execute("pragma journal_mode=wal")
        self.db.executescript(TABLES)

    def state(self) -> dict[str, str]:
        return dict(self.db.execute("select key, value from state"))

    def keep(self, messages: Sequence[Incoming], state: Mapping[str, str]) -> list[Incoming]:
        """One transaction; the messages that are new."""
        self.db.execute("begin immediate")
        fresh = [m for m in messages if self._insert(m)]
        self.db.executemany("insert or replace into state values(?,?)", list(state.items()))
        self.db.execute("commit")
        return fresh

    def _insert(self, message: Incoming) -> bool:
        row = (message.external_id, json.dumps({"room": message.room, "text": message.text, "sender": message.sender}))
        cursor = self.db.execute("insert or ignore into inbox(external_id, body) values(?,?)", row)
        return cursor.rowcount == 1

    def queue_answers(self) -> None:
        """An answer for every message that has none."""
        rows = self.db.execute(
            "select seq, external_id, body from inbox"
            " where not exists (select 1 from outbox where key = inbox.seq || '-r')"
        ).fetchall()
        for seq, external_id, body in rows:
            answer = json.loads(body) | {"reply_to": external_id}
            self.db.execute("insert or ignore into outbox(key, body) values(?,?)", (f"{seq}-r", json.dumps(answer)))

    def unsent(self) -> list[tuple[str, dict[str, Any]]]:
        rows = self.db.execute("select key, body from outbox where event_id is null order by seq")
        return [(key, json.loads(body)) for key, body in rows]

    def sent(self, key: str, event_id: str) -> None:
        self.db.execute("update outbox set event_id = ? where key = ?", (event_id, key))


class Echo:
    """The assistant around a channel: keeps, echoes, sends."""

    def __init__(
        self, store: pathlib.Path, file: pathlib.Path | str, roster: set[str], *, answers: bool = True, **options: Any
    ) -> None:
        self.ledger = Ledger(file)
        self.roster = roster
        self.channel = MatrixChannel(store, self.ledger.state(), self.knows, **options)
        self.heard: list[Incoming] = []
        self.answers = answers
        self.changed = asyncio.Condition()
        self._work = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []

    def knows(self, address: str) -> bool:
        return address in self.roster

    async def keep(self, messages: Sequence[Incoming], state: Mapping[str, str]) -> None:
        self.heard += self.ledger.keep(messages, state)
        self._work.set()
        async with self.changed:
            self.changed.notify_all()

    async def until(self, condition: Callable[[], bool], seconds: float = 60) -> None:
        """Wait until the condition holds; it is looked at after every commit."""
        async with asyncio.timeout(seconds), self.changed:
            await self.changed.wait_for(condition)

    async def work(self) -> None:
        self._work.set()
        while True:
            await self._work.wait()
            self._work.clear()
            self.ledger.queue_answers()
            rooms: dict[str, list[tuple[str, dict[str, Any]]]] = {}
            for key, row in self.ledger.unsent():
                rooms.setdefault(row["room"], []).append((key, row))
            await asyncio.gather(*(self._lane(rows) for rows in rooms.values()))

    async def _lane(self, rows: list[tuple[str, dict[str, Any]]]) -> None:
        for key, row in rows:
            try:
                self.ledger.sent(key, await self.channel.send(self._outgoing(key, row)))
            except Refused:
                self.ledger.sent(key, "refused")
            except LoggedOut:
                raise
            except ChannelError:
                asyncio.get_running_loop().call_later(0.2, self._work.set)
                return

    def _outgoing(self, key: str, row: Mapping[str, Any]) -> Outgoing:
        out = Outgoing(key, "matrix", row["sender"], "re: " + row["text"], "reply", row["room"], row["reply_to"])
        return replace(out, queued_at=datetime.now(UTC))

    async def run(self) -> None:
        """Listen and answer until one of both ends."""
        async with asyncio.TaskGroup() as group:
            group.create_task(self.channel.listen(self.keep))
            if self.answers:
                group.create_task(self.work())

    def start(self) -> Echo:
        self._tasks.append(asyncio.create_task(self.run()))
        return self

    async def stop(self) -> None:
        for task in self._tasks:
            task.cancel()
        for ended in await asyncio.gather(*self._tasks, return_exceptions=True):
            if isinstance(ended, Exception):
                traceback.print_exception(ended)


if __name__ == "__main__":
    where, log, *people = sys.argv[1:]
    asyncio.run(Echo(pathlib.Path(where), log, set(people)).run())
