"""Sending what is queued. A row leaves after its commit, and its key with it, so that a repeat is the same message.

Within a room, or to a number, messages leave in their order. Rooms do not wait for each other: where a channel can send
side by side, one that hangs or is told to slow down holds up nobody else.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import structlog

from sitebot.channels.protocol import Channel
from sitebot.enclosures import enclosure
from sitebot.errors import ChannelError, LoggedOut, Refused
from sitebot.journal import DatabaseDown, Journal
from sitebot.message import Outgoing

log = structlog.get_logger(__name__)

#: Waits between tries [s]; the last one again and again until it is given up: so late at most after the wire is back.
WAITS = (2, 5, 15, 60, 300)
#: After so long, and so many tries, a message is given up and the lead hears whom it did not reach. By tries as well:
#: a clock that jumped makes no message old.
GIVE_UP, LEAST_TRIES = timedelta(days=1), 50
#: So many failures with no success between them: the wire was down. With the next success all that waits is due.
DOWN = 3
#: So many of a lane are taken at once: one with very many leaves room for the others.
AT_ONCE = 8
#: And so many of all lanes, those included that are still being sent.
MOST = 800

#: A message as it is queued: site, row, message, picture.
Row = tuple[str, int, Outgoing, str]


async def send_due(journal: Journal, channels: Mapping[str, Channel], now: datetime) -> int:
    """Send everything that is due, one after the other; how many went out."""
    return await _Round(journal, channels, now, lambda: True).send(journal.queued(now))


class Lanes:
    """Sends for as long as a channel is held: a task for each room that has something to be sent."""

    def __init__(
        self, journal: Journal, channels: Mapping[str, Channel], may: Callable[[], bool], more: Callable[[], None]
    ) -> None:
        """``may`` says whether the channel is still ours to send on, ``more`` is told that a lane is free again."""
        self._journal, self._channels, self._may, self._more = journal, channels, may, more
        self._busy: dict[Hashable, asyncio.Task[int]] = {}
        self._failures = 0
        self._final: LoggedOut | None = None

    def start(self, now: datetime) -> None:
        """Begin whatever is due and not under way; LoggedOut if a lane ended so."""
        if self._final:
            raise self._final
        lanes: dict[Hashable, list[Row]] = {}
        for row in self._journal.queued(now, MOST, AT_ONCE):
            lanes.setdefault(self._lane(row), []).append(row)
        for lane, rows in lanes.items():
            if lane not in self._busy:
                self._busy[lane] = asyncio.create_task(self._pass(rows, now))
                self._busy[lane].add_done_callback(lambda task, lane=lane: self._ended(lane, task))  # type: ignore[misc]

    async def _pass(self, rows: Sequence[Row], now: datetime) -> int:
        """One lane's rows; how many went out. Who waited for a wire that was down waits no longer than it."""
        sending = _Round(self._journal, self._channels, now, self._may)
        sent = await sending.send(rows)
        if sent and self._failures >= DOWN:
            self._journal.hurry(tuple(self._channels), now)
        self._failures = 0 if sent else self._failures + sending.failed
        return sent

    def _lane(self, row: Row) -> Hashable:
        channel = self._channels.get(row[2].channel)
        return lane_of(row) if getattr(channel, "sends_side_by_side", False) else row[2].channel

    def _ended(self, lane: Hashable, task: asyncio.Task[int]) -> None:
        del self._busy[lane]
        if task.cancelled():
            return
        error = task.exception()
        if isinstance(error, LoggedOut):
            self._final = error
        elif error is not None:
            log.warning("not sent", reason=str(error), kind=type(error).__name__)
        if isinstance(error, LoggedOut) or (error is None and task.result()):
            # After a failure the next regular look is soon enough.
            self._more()

    async def stop(self) -> None:
        """End what is under way; it is tried again, with the same keys, by whoever has the channel then."""
        tasks = list(self._busy.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


def lane_of(row: Row) -> tuple[str, str]:
    """Whose order is kept: a room's, else a person's; a pinned message waits for nobody."""
    out = row[2]
    return row[0], f"today {out.room}" if out.kind == "today" else out.room or out.address


class _Round:
    """One pass over some rows, in order. A lane whose message fails waits for it; the others go on."""

    def __init__(
        self, journal: Journal, channels: Mapping[str, Channel], now: datetime, may: Callable[[], bool]
    ) -> None:
        self._journal, self._channels, self._now, self._may = journal, channels, now, may
        #: So many did not go out because of the wire.
        self.failed = 0

    async def send(self, rows: Sequence[Row]) -> int:
        sent, stuck = 0, set[tuple[str, str]]()
        for row in rows:
            channel = self._channels.get(row[2].channel)
            if channel is None or lane_of(row) in stuck or not self._may():
                continue
            done = await self._send(channel, row)
            sent += done is True
            if done is None:
                stuck.add(lane_of(row))
        return sent

    async def _send(self, channel: Channel, row: Row) -> bool | None:
        """True: it went out; False: it did not, and holds up nothing; None: its lane waits for it."""
        site, number, out, picture = row
        try:
            if getattr(channel, "carries_pictures", False):
                out = replace(out, media=enclosure(self._journal, site, picture, self._now))
            self._journal.sent(site, number, await channel.send(out))
        except (LoggedOut, DatabaseDown):
            raise
        except Refused as error:
            log.warning("refused", channel=out.channel, key=out.key, reason=str(error))
            self._journal.not_sent(site, number, None)
            return False
        except ChannelError as error:
            return self._put_off(site, number, out, error)
        return True

    def _put_off(self, site: str, number: int, out: Outgoing, error: ChannelError) -> bool | None:
        if until := getattr(error, "until", None):
            # Held back on purpose (quiet hours, pace): it waits for its time and stops nothing behind it.
            self._journal.not_sent(site, number, until)
            return False
        self.failed += 1
        log.info("not sent yet", channel=out.channel, key=out.key, reason=str(error))
        tries = self._journal.tries(site, number)
        if tries >= LEAST_TRIES and out.queued_at and self._now - out.queued_at > GIVE_UP:
            log.warning("given up", channel=out.channel, key=out.key)
            self._journal.not_sent(site, number, None)
            return False
        self._journal.not_sent(site, number, self._now + timedelta(seconds=_wait(tries)))
        return None


def _wait(tries: int) -> int:
    return WAITS[min(tries, len(WAITS) - 1)]
