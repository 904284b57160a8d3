"""One channel account, held by one process at a time: listen and send while its lease holds, let go when it is lost.

Several workers may be started with the same channels; one of them has the account, and when it is killed, hangs or is
cut off, another has it within fifteen seconds. What a message means and how a channel works is no matter here.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import UTC, datetime

import structlog

from sitebot.channels.protocol import Channel, Keep
from sitebot.errors import ChannelError, LoggedOut, Unreachable
from sitebot.journal import DatabaseDown, Journal
from sitebot.message import Outgoing
from sitebot.metrics import Metrics
from sitebot.outbox import Lanes

log = structlog.get_logger(__name__)

#: How long a lease holds, how often it is renewed, how often others look whether it is free [s].
LEASE = 10.0
RENEW = 2.5
LOOK = 1.0
#: How often the outbox looks for messages whose next try is due [s]; new ones wake it at once.
LOOK_AGAIN = 1.0
#: Before a channel that fell over listens again, and between tries of the database [s].
PAUSE = 5.0


class Lost(Exception):
    """The lease is not ours any more."""


#: Opens a channel with the state that was kept of it; again after each time it fell over.
Opener = Callable[[Mapping[str, str]], Channel]


class HeldChannel:
    """A channel of this process, active while the process holds its lease."""

    def __init__(
        self, journal: Journal, name: str, opener: Opener, keep: Keep, home: str, holder: str, metrics: Metrics
    ) -> None:
        self.journal = journal
        self.name = name
        self.queued = asyncio.Event()
        self._open = opener
        self._keep = keep
        self._home = home
        self._holder = holder
        self._metrics = metrics
        self._until = 0.0

    async def run(self) -> None:
        """Wait for the lease, live while it holds, again and again; LoggedOut ends it."""
        while True:
            if not self._take():
                await asyncio.sleep(LOOK)
                continue
            log.info("channel held", channel=self.name, holder=self._holder)
            self._show(True)
            try:
                await self._live()
            except* Lost:
                log.warning("channel lost to another process", channel=self.name, holder=self._holder)
            except* LoggedOut as errors:
                raise errors.exceptions[0] from None
            finally:
                self._show(False)
                self._give_back()

    # --- the lease --------------------------------------------------------------------------------------------------

    def _take(self) -> bool:
        asked = time.monotonic()
        try:
            if self.journal.take_lease(self._home, self.name, self._holder, LEASE):
                self._until = asked + LEASE
                return True
        except DatabaseDown as error:
            log.warning("database down", at="lease", reason=str(error))
        return False

    def _give_back(self) -> None:
        try:
            self.journal.give_back_lease(self._home, self.name, self._holder)
        except DatabaseDown:
            log.info("lease left to run out", channel=self.name)

    def _show(self, held: bool) -> None:
        sends = self.journal.sends or frozenset()
        self.journal.sends = sends | {self.name} if held else sends - {self.name}
        self._metrics.held.labels(self.name).set(held)

    async def _renew(self) -> None:
        """Keep the lease; Lost when another has it, or when it may have run out while the database was away."""
        while True:
            await asyncio.sleep(RENEW)
            if not self._take() and (time.monotonic() > self._until or self._is_taken()):
                raise Lost

    def _is_taken(self) -> bool:
        try:
            return any(name == self.name and who != self._holder for name, who, _ in self.journal.leases())
        except DatabaseDown:
            return False

    # --- while it is held -------------------------------------------------------------------------------------------

    async def _live(self) -> None:
        async with asyncio.TaskGroup() as group:
            group.create_task(self._renew())
            group.create_task(self._again())

    async def _again(self) -> None:
        """Open the channel again after whatever stops it; only a lost login is final."""
        while True:
            try:
                await self._once()
            except* LoggedOut as errors:
                raise errors.exceptions[0] from None
            except* (ChannelError, DatabaseDown) as errors:
                log.warning("channel pauses", channel=self.name, reason=str(errors.exceptions[0]))
            except* Exception:
                log.exception("channel fell over", channel=self.name)
            await asyncio.sleep(PAUSE)

    async def _once(self) -> None:
        channel = self._open(self.journal.channel_state(self._home, self.name))
        async with asyncio.TaskGroup() as group:
            group.create_task(self._listen(channel))
            group.create_task(self._send(_Counted(channel, self._metrics)))

    async def _listen(self, channel: Channel) -> None:
        await channel.listen(self._keep)
        raise Unreachable("it stopped listening")

    async def _send(self, channel: Channel) -> None:
        lanes = Lanes(self.journal, {self.name: channel}, lambda: time.monotonic() < self._until, self.queued.set)
        try:
            while True:
                self.queued.clear()
                try:
                    lanes.start(datetime.now(UTC))
                except DatabaseDown as error:
                    log.warning("database down", at="send", reason=str(error))
                # Not wait_for: in Python 3.11 it may swallow the cancellation that ends us.
                with suppress(TimeoutError):
                    async with asyncio.timeout(LOOK_AGAIN):
                        await self.queued.wait()
        finally:
            await lanes.stop()


class _Counted:
    """A channel whose sends are counted, and whose defects are taken as a wire that is down: tried again, later."""

    def __init__(self, channel: Channel, metrics: Metrics) -> None:
        self.name = channel.name
        self.carries_pictures = bool(getattr(channel, "carries_pictures", False))
        self.sends_side_by_side = bool(getattr(channel, "sends_side_by_side", False))
        self._channel = channel
        self._metrics = metrics

    async def listen(self, keep: Keep) -> None:
        await self._channel.listen(keep)

    async def send(self, out: Outgoing) -> str:
        try:
            external = await self._channel.send(out)
        except ChannelError:
            self._metrics.refused.labels(self.name).inc()
            raise
        except Exception as error:
            self._metrics.refused.labels(self.name).inc()
            log.exception("channel fell over", channel=self.name, at="send")
            raise Unreachable(f"{self.name}: {type(error).__name__}") from error
        self._metrics.sent.labels(self.name).inc()
        return external
