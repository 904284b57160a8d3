"""Sending: in order within a room, once, at the speed the homeserver allows.

The same row always carries the same transaction id, so a repeat after a crash gives the same event. The homeserver
remembers transaction ids for a day only; older rows are looked for in the room before they are sent again.
"""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime, timedelta

import nio
import structlog

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.content import (
    MARK,
    Content,
    mark_of,
    picture_content,
    pieces,
    relation,
    row_of,
    text_content,
)
from sitebot.channels.matrix.directory import Directory
from sitebot.channels.matrix.events import Event, events_of, text_at
from sitebot.channels.matrix.media import put
from sitebot.channels.matrix.recall import Recall
from sitebot.channels.matrix.wire import Pause, Throttled, asked
from sitebot.errors import Refused
from sitebot.message import Media, Outgoing

#: Synapse clears its transaction ids after 24 h; an hour is left for clocks and for the time a request takes.
REMEMBERED = timedelta(hours=23)
#: Pages of a hundred events in which an old row is looked for.
LOOK_BACK_PAGES = 20
#: Waits for the homeserver's rate limit at most, before the row goes back to the outbox.
PATIENT_S = 60.0
log = structlog.get_logger(__name__)


class Sender:
    """Everything that is said in a room passes here."""

    def __init__(
        self,
        client: BotClient,
        directory: Directory,
        recall: Recall,
        *,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        pause: Pause = asyncio.sleep,
        answered: Callable[[str], None] = lambda room: None,
        said: Callable[[str], None] = lambda room: None,
    ) -> None:
        """``answered`` is told the room as soon as something is being said there, ``said`` when that is over."""
        self._client, self._directory, self._recall = client, directory, recall
        self._answered, self._said = answered, said
        self._now, self._pause = now, pause
        self._lanes: defaultdict[str, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._free_at = 0.0

    async def send(self, out: Outgoing) -> str:
        """Send one row of the outbox; the event id of its first part."""
        room = await self._directory.room_for(out)
        self._answered(room)
        try:
            ids = await self._say_in(room, out)
        finally:
            self._said(room)
        if not ids:
            raise Refused(f"Nothing of message {out.key} could be sent")
        return ids[0]

    async def _say_in(self, room: str, out: Outgoing) -> list[str]:
        # Waiters get asyncio's lock in the order they came: rows of one room keep their order, rooms run side by side.
        async with self._lanes[room]:
            sent = await self._already_sent(out, room)
            ids = []
            async for part, content in self._contents(out, room, sent):
                mark = mark_of(row_of(out), part)
                ids.append(sent.get(mark) or await self._put(room, {**content, MARK: mark}, mark))
        return ids

    async def say(self, room: str, content: Content, mark: str) -> str:
        """Send a content that is no row of the outbox; in its turn."""
        async with self._lanes[room]:
            return await self._put(room, content, mark)

    async def _contents(self, out: Outgoing, room: str, sent: dict[str, str]) -> AsyncIterator[tuple[int, Content]]:
        """The parts in their order: what it says, then its pictures."""
        target = await self._recall.of(room, out.reply_to) if out.reply_to else None
        tie = relation(out.reply_to, target.thread if target else "")
        texts = pieces(out.text) if out.text or not out.media else []
        for part, text in enumerate(texts):
            called = (target.sender,) if target else out.mentions
            yield part, {**text_content(text, mentions=called), **tie}
        for part, media in enumerate(out.media, start=len(texts)):
            if mark_of(row_of(out), part) in sent:
                yield part, {}
            elif content := await self._picture(room, media):
                yield part, {**content, **tie}

    async def _picture(self, room: str, media: Media) -> Content | None:
        """A picture the homeserver will not take must not keep the words back."""
        try:
            where = await put(self._client, media, encrypt=self._client.encrypted(room))
        except Refused as error:
            log.warning("picture left out", room=room, why=str(error))
            return None
        return picture_content(media, where)

    async def _put(self, room: str, content: Content, mark: str) -> str:
        waited = 0.0
        while True:
            await self._turn()
            try:
                request = self._client.room_send(room, "m.room.message", content, tx_id=mark)
                answer = await asked(request, nio.RoomSendResponse)
            except Throttled as error:
                waited += error.seconds
                if waited > PATIENT_S:
                    raise
                # The limit is the account's: all rooms wait.
                self._free_at = max(self._free_at, asyncio.get_running_loop().time() + error.seconds)
            else:
                return str(answer.event_id)

    async def _turn(self) -> None:
        wait = self._free_at - asyncio.get_running_loop().time()
        if wait > 0:
            await self._pause(wait)

    async def _already_sent(self, out: Outgoing, room: str) -> dict[str, str]:
        """Parts of an old row that stand in the room, by mark."""
        queued = out.queued_at
        if queued and self._now() - queued < REMEMBERED:
            return {}
        marks = {mark_of(row_of(out), part) for part in range(len(pieces(out.text)) + len(out.media))}
        found: dict[str, str] = {}
        async for event in self._back_to(room, queued):
            mark = text_at(event.content, MARK)
            if event.sender == self._client.user_id and mark in marks:
                found[mark] = event.event_id
        if found:
            log.info("found in the room", key=out.key, parts=len(found))
        return found

    async def _back_to(self, room: str, queued: datetime | None) -> AsyncIterator[Event]:
        """Events of a room, newest first, until before the row was queued (one page where nobody knows when)."""
        start: str | None = ""
        for _ in range(LOOK_BACK_PAGES if queued else 1):
            request = self._client.room_messages(room, start=start, direction=nio.MessageDirection.back, limit=100)
            page = await asked(request, nio.RoomMessagesResponse)
            events = events_of(page.chunk)
            for event in events:
                yield event
            start = page.end
            if not start or not events or (queued and events[-1].at < queued):
                return
