"""A site on a clock of its own whose people write over Matrix: the real App and channel. No test lives here."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from sitebot.app import App
from sitebot.channels.matrix.channel import MatrixChannel
from sitebot.journal import Journal
from sitebot.message import Incoming
from sitebot.outbox import Lanes
from sitebot.play import SITE
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import Site
from sitebot.stage import load_site
from tests.matrix.conftest import World


class OnMatrix:
    """App, channel and outbox in this process; the clock moves only when told."""

    def __init__(self, world: World, site: Site, start: datetime) -> None:
        self.site, self.now, self._store = site, start, world.store
        self.journal = Journal("sqlite://")
        self.journal.migrate()
        self.app = App(self.journal, Rulebook.load(rules_folder()))
        with self.journal.turn(SITE, start) as turn:
            load_site(turn, site)
        self.app.tick(SITE, start)
        self.kept = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []
        self._more = asyncio.Event()
        world.on_end(self.stop)

    async def start(self) -> None:
        """Listen and send, with what was kept; returns when in touch."""
        state = self.journal.channel_state(SITE, "matrix")
        channel = MatrixChannel(self._store, state, lambda who: bool(self.journal.sites_of(who)), now=lambda: self.now)
        lanes = Lanes(self.journal, {"matrix": channel}, lambda: True, self._more.set)
        self.kept.clear()
        self._tasks = [asyncio.create_task(channel.listen(self.keep)), asyncio.create_task(self._send(lanes))]
        async with asyncio.timeout(60):
            await self.kept.wait()

    async def stop(self) -> None:
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        self._tasks = []

    async def keep(self, messages: Sequence[Incoming], state: Mapping[str, str]) -> None:
        for row in self.journal.keep(SITE, messages, state, "matrix"):
            self.app.handle(SITE, row, self.now)
        self.kept.set()
        self._more.set()

    async def _send(self, lanes: Lanes) -> None:
        try:
            while True:
                self._more.clear()
                lanes.start(self.now)
                await self._more.wait()
        finally:
            await lanes.stop()

    def run_to(self, moment: datetime) -> None:
        """Let the clock run: every wake on the way is a tick at its own time."""
        while (wake := self.journal.next_wake()) and wake[1] <= moment:
            self.now = max(self.now, wake[1])
            self.app.tick(SITE, self.now)
        self.now = max(self.now, moment)
        self._more.set()

    def later(self, **span: float) -> None:
        self.run_to(self.now + timedelta(**span))
