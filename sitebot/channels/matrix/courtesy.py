"""Read markers and the typing notice: signs that a person was heard. Nothing here may delay or lose a message."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from typing import Any

import nio
import structlog

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.wire import asked
from sitebot.errors import ChannelError

#: An answer that takes longer than this is announced.
TYPING_AFTER_S = 1.0
#: Marks wait until a room has been quiet so long: the answers go first, and a burst of messages needs one mark.
READ_AFTER_S = 1.0
#: In a room that is never quiet they wait so long at most.
READ_WITHIN_S = 10.0
#: The notice ends by itself, should we die meanwhile.
TYPING_FOR_MS = 20_000
log = structlog.get_logger(__name__)


class Courtesy:
    """Small signs, sent beside the road of the messages."""

    def __init__(self, client: BotClient, typing_after: float = TYPING_AFTER_S) -> None:
        self._client, self._typing_after = client, typing_after
        self._timers: dict[str, asyncio.TimerHandle] = {}
        self._typing: set[str] = set()
        #: By room: the event to be marked, since when one is to be marked, and the timer of it.
        self._read: dict[str, tuple[str, float, asyncio.TimerHandle]] = {}
        #: A homeserver that has a thousand marks to write answers nobody else meanwhile.
        self._one_mark = asyncio.Lock()
        self._running: set[asyncio.Task[None]] = set()

    def heard(self, room: str) -> None:
        """Somebody waits for an answer in this room, from now on."""
        if room not in self._timers and room not in self._typing:
            loop = asyncio.get_running_loop()
            self._timers[room] = loop.call_later(self._typing_after, self._start_typing, room)

    def answered(self, room: str) -> None:
        """The answer is on its way; a message ends the notice in every client, and is followed by an explicit end."""
        timer = self._timers.pop(room, None)
        if timer:
            timer.cancel()
        if room in self._typing:
            self._typing.discard(room)
            self._beside(asked(self._client.room_typing(room, False), nio.RoomTypingResponse))

    def read(self, room: str, event_id: str) -> None:
        """Mark as read, soon; called after the commit only, so that a mark never lies."""
        loop = asyncio.get_running_loop()
        since = loop.time()
        if room in self._read:
            _, since, timer = self._read[room]
            timer.cancel()
        at = min(loop.time() + READ_AFTER_S, since + READ_WITHIN_S)
        self._read[room] = event_id, since, loop.call_at(at, self._mark, room)

    def _mark(self, room: str) -> None:
        event_id, _, _ = self._read.pop(room)
        self._beside(self._marked(room, event_id))

    async def _marked(self, room: str, event_id: str) -> None:
        async with self._one_mark:
            request = self._client.room_read_markers(room, fully_read_event=event_id, read_event=event_id)
            await asked(request, nio.RoomReadMarkersResponse)

    def _start_typing(self, room: str) -> None:
        self._timers.pop(room, None)
        self._typing.add(room)
        asyncio.get_running_loop().call_later(TYPING_FOR_MS / 1000, self._typing.discard, room)
        self._beside(asked(self._client.room_typing(room, True, TYPING_FOR_MS), nio.RoomTypingResponse))

    def _beside(self, request: Coroutine[Any, Any, Any]) -> None:
        task = asyncio.create_task(harmless(request))
        self._running.add(task)
        task.add_done_callback(self._running.discard)

    async def stop(self) -> None:
        """End what is running, at the end of the channel."""
        for timer in (*self._timers.values(), *(timer for _, _, timer in self._read.values())):
            timer.cancel()
        self._timers.clear()
        self._read.clear()
        for task in tuple(self._running):
            task.cancel()
        await asyncio.gather(*self._running, return_exceptions=True)


async def harmless(request: Coroutine[Any, Any, Any]) -> None:
    try:
        await request
    except ChannelError as error:
        log.info("courtesy failed", why=str(error))
