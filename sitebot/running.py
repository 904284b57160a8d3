"""``sitebot run``: channels, reminders and the outbox in one process, until it is told to stop."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

import structlog

from sitebot.app import App
from sitebot.channels.protocol import Channel
from sitebot.errors import LoggedOut
from sitebot.journal import Journal
from sitebot.message import Incoming
from sitebot.outbox import send_due
from sitebot.reminders import Waker

log = structlog.get_logger(__name__)

#: How often the outbox looks for messages whose next try is due [s]; new ones wake it at once.
LOOK_AGAIN = 1.0


class Running:
    """The parts of a running assistant, put together."""

    def __init__(self, app: App, channels: Mapping[str, Channel], home: str) -> None:
        self.app = app
        self.journal: Journal = app.journal
        self.channels = channels
        #: The site of people nobody knows.
        self.home = home
        self._queued = asyncio.Event()
        self.waker = Waker(self.journal.next_wake, app.tick)
        app.wake = self._wake

    def _wake(self) -> None:
        self._queued.set()
        self.waker.arm()

    async def run(self) -> None:
        """Answer what a crash left, then live until cancelled; LoggedOut ends it."""
        for site in self.journal.sites():
            self.app.sweep(site, datetime.now(UTC))
            self.app.tick(site, datetime.now(UTC))
        self.waker.start()
        try:
            async with asyncio.TaskGroup() as group:
                group.create_task(self._send())
                for channel in self.channels.values():
                    group.create_task(channel.listen(self._keeper(channel.name)))
        except* LoggedOut as errors:
            raise errors.exceptions[0] from None
        finally:
            self.waker.stop()

    def _keeper(self, channel: str) -> Keeper:
        return Keeper(self, channel)

    async def _send(self) -> None:
        while True:
            self._queued.clear()
            await send_due(self.journal, self.channels, datetime.now(UTC))
            try:
                await asyncio.wait_for(self._queued.wait(), LOOK_AGAIN)
            except TimeoutError:
                continue

    def site_of(self, message: Incoming) -> str:
        """The site whose people have the sender's address; strangers belong to the home site."""
        sites = self.journal.sites_of(message.sender)
        return sites[0] if sites else self.home


class Keeper:
    """What a channel calls with what it brought: kept with its own state, then answered."""

    def __init__(self, running: Running, channel: str) -> None:
        self._running = running
        self._channel = channel

    async def __call__(self, messages: Sequence[Incoming], state: Mapping[str, str]) -> None:
        running, now = self._running, datetime.now(UTC)
        by_site: dict[str, list[Incoming]] = {}
        for message in messages:
            by_site.setdefault(running.site_of(message), []).append(message)
        home = by_site.pop(running.home, [])
        rows = [(site, running.journal.keep(site, kept)) for site, kept in by_site.items()]
        # The channel's state moves on only when every message before it is kept.
        rows.append((running.home, running.journal.keep(running.home, home, state, self._channel)))
        for site, fresh in rows:
            for row in fresh:
                self._answer(site, row, now)

    def _answer(self, site: str, row: int, now: datetime) -> None:
        try:
            self._running.app.handle(site, row, now)
        except Exception:
            # Ours to mend; the message stays in the inbox and the next sweep tries again.
            log.exception("not answered", site=site, row=row)
            self._running.journal.failed_once(site, row, 3)
