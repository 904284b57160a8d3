"""The sync loop: what the homeserver has for us goes to the inbox, and only then is it acknowledged.

One response becomes one transaction: messages, what could not be read, invitations, rooms and the sync token. The
library's own loop and callbacks are not used: an exception in one loses the rest of a batch, and its token is written
before the messages are safe.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import nio
import structlog

from sitebot.channels.matrix.awaited import Awaited
from sitebot.channels.matrix.backfill import History
from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.courtesy import Courtesy
from sitebot.channels.matrix.events import Event, event_from, event_of, events_of
from sitebot.channels.matrix.hearing import Hearing
from sitebot.channels.matrix.invites import Invites
from sitebot.channels.matrix.rooms import RoomBook
from sitebot.channels.matrix.unread import UnreadPile
from sitebot.channels.matrix.verification import Verification
from sitebot.channels.matrix.wire import Patience, asked
from sitebot.channels.protocol import Keep
from sitebot.message import Incoming

#: Key of the sync token in the channel's state.
TOKEN = "sync"  # noqa: S105
POLL_MS = 30_000
#: While an invitation waits for a homeserver in trouble, it is tried again this often.
POLL_WITH_INVITES_MS = 2_000
NOTHING = {"not_types": ["*"]}
#: Neither receipts nor typing nor presence wake us: each would be a round between a question and its answer.
FILTER = {
    "room": {"timeline": {"limit": 100}, "ephemeral": NOTHING, "account_data": NOTHING},
    "presence": NOTHING,
    "account_data": NOTHING,
}
KEY_EVENTS = (nio.RoomKeyEvent, nio.ForwardedRoomKeyEvent)
log = structlog.get_logger(__name__)


@dataclass(slots=True)
class Batch:
    """What one transaction will hold, and what is done after it."""

    messages: list[Incoming] = field(default_factory=list)
    rows: dict[str, str] = field(default_factory=dict)
    #: Last event of each room, to be marked as read.
    read: dict[str, str] = field(default_factory=dict)
    verifications: list[tuple[str, Event]] = field(default_factory=list)


@dataclass(slots=True)
class Ingest:
    """Runs the loop."""

    client: BotClient
    book: RoomBook
    history: History
    hearing: Hearing
    unread: UnreadPile
    invites: Invites
    courtesy: Courtesy
    awaited: Awaited
    verification: Verification
    patience: Patience
    knows: Callable[[str], bool]
    now: Callable[[], datetime]
    since: str | None
    #: Called once the rooms are known.
    ready: Callable[[], None]

    async def run(self, keep: Keep) -> None:
        """Listen until the token is revoked (LoggedOut) or ``keep`` fails: then nothing was acknowledged."""
        await self._keep_late(keep, {})
        while True:
            response = await self.patience.until(self._sync)
            batch = await self._batch(response)
            batch.rows[TOKEN] = response.next_batch
            await keep(batch.messages, batch.rows)
            self.since = response.next_batch
            self.ready()
            self._acknowledge(batch)
            await self.awaited.over()
            await self._afterwards(response, batch, keep)

    async def _sync(self) -> Any:
        poll = POLL_WITH_INVITES_MS if self.invites.waiting else POLL_MS
        # No waiting at the first sync of a process: what was missed is there already.
        timeout = poll if self.client.next_batch else 0
        request = self.client.sync(timeout=timeout, since=self.since, sync_filter=FILTER)
        return await asked(request, nio.SyncResponse)

    async def _batch(self, response: Any) -> Batch:
        batch = Batch()
        for room, info in response.rooms.join.items():
            await self._take_room(room, info, batch)
        for room in response.rooms.leave:
            batch.rows |= self._leave(room)
        batch.rows |= self.invites.note(response.rooms.invite)
        batch.rows |= self.unread.expired(self.now())
        return batch

    async def _take_room(self, room: str, info: Any, batch: Batch) -> None:
        new = not self.book.is_joined(room)
        # The state is that of the timeline's beginning; what is filled in before it is history.
        batch.rows |= self.book.note(room, events_of([*info.state, *info.timeline.events]))
        self._tell_library(room)
        # At the very first start the rooms' history is nobody's question to us.
        events = await self.history.complete(room, info.timeline, self.since, new=new) if self.since else []
        for found in events:
            await self._take_event(room, found, batch)

    def _tell_library(self, room: str) -> None:
        known = self.book.get(room)
        if known:
            self.client.expect_rooms([known])

    async def _take_event(self, room: str, found: Any, batch: Batch) -> None:
        event = event_from(found)
        if event is None:
            return
        self.hearing.note(event)
        if event.sender != self.client.user_id and event.state_key is None:
            batch.read[room] = event.event_id
        if isinstance(found, nio.MegolmEvent):
            if event.sender != self.client.user_id:
                batch.rows |= self.unread.add(room, found, self.now())
            return
        batch.verifications.append((room, event))
        if heard := await self.hearing.hear(room, event):
            batch.messages.append(heard)

    def _leave(self, room: str) -> dict[str, str]:
        """The library does not take us out of a room we were thrown out of."""
        self.client.rooms.pop(room, None)
        if rows := self.book.left(room):
            log.warning("out of a room", room=room)
            return rows
        return {}

    def _acknowledge(self, batch: Batch) -> None:
        for room, event_id in batch.read.items():
            self.courtesy.read(room, event_id)
        for heard in batch.messages:
            if heard.addressed and not heard.reaction and not heard.retracts:
                self.courtesy.heard(heard.room)
                self.awaited.heard(heard.room)

    async def _afterwards(self, response: Any, batch: Batch, keep: Keep) -> None:
        """What must not hold the messages up: keys, invitations, late messages, verifications."""
        await self.client.housekeeping()
        rows = await self.invites.answer() if self.invites.waiting else {}
        if any(isinstance(event, KEY_EVENTS) for event in response.to_device_events):
            await self._keep_late(keep, rows)
            rows = {}
        overdue = self._ask_again(rows)
        if rows or overdue:
            await keep(overdue, rows)
        for event in response.to_device_events:
            await self.verification.from_device(event)
        for room, event in batch.verifications:
            await self.verification.from_room(room, event)

    async def _keep_late(self, keep: Keep, rows: dict[str, str]) -> None:
        """Messages whose key has come by now."""
        readable = self.unread.readable()
        if not readable and not rows:
            return
        late = [heard for room, event in readable if (heard := await self.hearing.hear(room, event))]
        done = self.unread.done(event.event_id for _, event in readable)
        await keep(late, rows | done)
        self._acknowledge(Batch(messages=late))

    def _ask_again(self, rows: dict[str, str]) -> list[Incoming]:
        """Have the app ask for what never became readable; in direct rooms only, to people we know."""
        asked_for = []
        for unread in self.unread.overdue(self.now()):
            rows |= self.unread.told(unread)
            event, room = event_of(unread.source), self.book.get(unread.room)
            if event and room and room.direct and self.knows(event.sender):
                asked_for.append(self.hearing.unreadable(room.id, event))
        return asked_for
