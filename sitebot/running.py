"""The parts of ``sitebot run`` in one process, until it is told to stop: channels, answers, reminders, outbox.

Several such processes may share a PostgreSQL database: a channel account is held by one (``held.py``), the messages of
a site are answered by one at a time and in order, and any of them takes over what a dead one left.
"""

from __future__ import annotations

import asyncio
import gc
import os
import signal
import socket
import time
from collections.abc import Coroutine, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime, timedelta

import structlog

from sitebot.app import MOST_TRIES, App
from sitebot.channels.sms.courtesy import PREFIX as STANDING
from sitebot.errors import LoggedOut
from sitebot.held import HeldChannel, Opener
from sitebot.journal import DatabaseDown, Journal
from sitebot.message import Incoming
from sitebot.metrics import Metrics
from sitebot.reminders import Waker

log = structlog.get_logger(__name__)

#: How often a worker looks for messages that another one left [s]; its own wake it at once.
LOOK_FOR_WORK = 0.5
#: Signs of life, and a look at what waits [s].
BEAT = 1.0
#: Between tries of a database that is down [s].
PAUSE = 1.0
#: So many of a site's messages with one commit, before it is looked again whose turn it is.
AT_ONCE = 16
#: A site whose reminders make us fail is looked at again after this.
PUT_OFF = timedelta(minutes=5)


class Running:
    """The parts of a running assistant, put together."""

    def __init__(
        self, app: App, channels: Mapping[str, Opener], home: str, metrics: Metrics | None = None, name: str = ""
    ) -> None:
        self.app = app
        self.journal: Journal = app.journal
        #: The site of people nobody knows.
        self.home = home
        self.metrics = metrics or Metrics()
        holder = name or f"{socket.gethostname()}:{os.getpid()}"
        self.held = [
            HeldChannel(self.journal, channel, opener, Keeper(self, channel), home, holder, self.metrics)
            for channel, opener in channels.items()
        ]
        self.journal.sends = frozenset()
        self.waker = Waker(self.journal.next_wake, self._tick)
        app.wake = self._wake
        self._work = asyncio.Event()
        self._changed = asyncio.Event()
        #: The hour in which each site was last looked at.
        self._looked: dict[str, datetime] = {}
        #: The hour in which photos that nothing names were last looked for.
        self._swept: datetime | None = None

    def _wake(self) -> None:
        self._changed.set()
        for channel in self.held:
            channel.queued.set()

    def look_again(self) -> None:
        """Whom texts reach may have changed: every site is looked at with the next beat."""
        self._looked.clear()

    def kept(self, channel: str, count: int) -> None:
        self.metrics.kept.labels(channel).inc(count)
        self._work.set()

    async def run(self) -> None:
        """Answer what a crash left, then live until cancelled; LoggedOut of the last channel ends it."""
        self.waker.start()
        try:
            async with asyncio.TaskGroup() as group:
                group.create_task(self._beat())
                group.create_task(self._arm())
                group.create_task(self._answer())
                group.create_task(self._channels())
                group.create_task(self._warm())
        except* LoggedOut as errors:
            raise errors.exceptions[0] from None
        finally:
            self.waker.stop()

    async def _warm(self) -> None:
        """While the channels connect; what is loaded then stays, and is not looked through for garbage again."""
        await asyncio.to_thread(self.app.warm)
        gc.collect()
        gc.freeze()

    async def _channels(self) -> None:
        """All channels; one that is logged out leaves the others alone."""
        results = await asyncio.gather(*(self._channel(c) for c in self.held))
        for error in results:
            raise error

    async def _channel(self, held: HeldChannel) -> LoggedOut:
        try:
            await held.run()
        except LoggedOut as error:
            log.error("logged out: log in again, then restart", channel=held.name, reason=str(error))
            return error
        raise AssertionError("a channel runs until it is cancelled")

    # --- answers ----------------------------------------------------------------------------------------------------

    async def _answer(self) -> None:
        while True:
            self._work.clear()
            try:
                for site in self.journal.waiting_sites():
                    while await self._answer_site(site):
                        pass
            except DatabaseDown as error:
                await _pause("answer", error)
            await _wait(self._work, LOOK_FOR_WORK)

    async def _answer_site(self, site: str) -> bool:
        """Answer some of a site's messages, in order; is there more? False too where another process is at it."""
        with self.journal.site_held(site) as held:
            if not held:
                return False
            if rows := self.journal.waiting(site, AT_ONCE):
                self._answer_rows(site, rows)
                await asyncio.sleep(0)
        # Looked at after letting go: who found the site held has left its message to us.
        return bool(self.journal.waiting(site, 1))

    def _answer_rows(self, site: str, rows: Sequence[int]) -> None:
        """All with one commit: nobody waits longer for it than for the messages before his."""
        began = time.perf_counter()
        done, error = self.app.handle_all(site, rows, datetime.now(UTC))
        self.metrics.answered.inc(done)
        for _ in range(done):
            self.metrics.seconds.observe((time.perf_counter() - began) / done)
        if error:
            # Ours to mend; the message stays in the inbox, is tried again, and then set aside.
            log.error("not answered", site=site, row=rows[done], exc_info=error)
            self.metrics.failures.inc()
            self.journal.failed_once(site, rows[done], MOST_TRIES)

    # --- by the clock -----------------------------------------------------------------------------------------------

    async def _beat(self) -> None:
        """Signs of life; what other processes changed (a wake, a new site) is seen here."""
        notify("READY=1")
        while True:
            self.metrics.alive()
            notify("WATCHDOG=1")
            try:
                self.metrics.loaded(self.journal.load())
                self._look(datetime.now(UTC))
                self.waker.arm()
            except DatabaseDown as error:
                await _pause("beat", error)
            await asyncio.sleep(BEAT)

    async def _arm(self) -> None:
        """Soon after an answer: a wake may have moved. Nothing else is looked at, since the next message waits."""
        while True:
            await self._changed.wait()
            await asyncio.sleep(BEAT / 10)  # one look for many messages
            self._changed.clear()
            try:
                self.waker.arm()
            except DatabaseDown as error:
                await _pause("arm", error)

    def _look(self, now: datetime) -> None:
        """Every site once an hour: a new one, and one that nobody wrote to for days, have their wakes set."""
        hour = now.replace(minute=0, second=0, microsecond=0)
        if self._swept != hour and self.journal.photos:
            self._swept = hour
            self.journal.photos.sweep(self.journal.photos_named())
        for site in self.journal.sites():
            if self._looked.get(site) != hour:
                self._tick(site, now)
                self._looked[site] = hour

    def _tick(self, site: str, now: datetime) -> None:
        """Send what is due; a site that makes us fail is put off, so that the others have theirs."""
        try:
            self.app.tick(site, now)
        except DatabaseDown:
            raise
        except Exception:
            log.exception("no reminders", site=site)
            self.metrics.failures.inc()
            self.journal.put_off(site, now, now + PUT_OFF)

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
        """Returns when all is kept: while the database is down the channel waits, and nothing is acknowledged."""
        while True:
            try:
                self._keep(messages, state)
            except DatabaseDown as error:
                await _pause("keep", error)
            else:
                return

    def _keep(self, messages: Sequence[Incoming], state: Mapping[str, str]) -> None:
        running = self._running
        by_site: dict[str, list[Incoming]] = {}
        for message in messages:
            by_site.setdefault(running.site_of(message), []).append(message)
        home = by_site.pop(running.home, [])
        kept = [running.journal.keep(site, brought) for site, brought in by_site.items()]
        # The channel's state moves on only when every message before it is kept.
        kept.append(running.journal.keep(running.home, home, state, self._channel))
        running.kept(self._channel, sum(map(len, kept)))
        if any(key.startswith(STANDING) for key in state):
            running.look_again()


async def _wait(event: asyncio.Event, seconds: float) -> None:
    """Not wait_for: in Python 3.11 it may swallow the cancellation that ends us."""
    with suppress(TimeoutError):
        async with asyncio.timeout(seconds):
            await event.wait()


async def _pause(where: str, error: DatabaseDown) -> None:
    log.warning("database down", at=where, reason=str(error))
    await asyncio.sleep(PAUSE)


async def stopped_by_signals(work: Coroutine[None, None, None]) -> None:
    """Do the work until SIGTERM or SIGINT; what was begun in the database is finished or undone as a whole."""
    task, loop = asyncio.ensure_future(work), asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, task.cancel)
    await task


def notify(state: str) -> None:
    """Tell systemd (sd_notify(3)); nothing where it did not start us."""
    address = os.environ.get("NOTIFY_SOCKET")
    if not address:
        return
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as wire:
        wire.connect("\0" + address[1:] if address.startswith("@") else address)
        wire.send(state.encode())
