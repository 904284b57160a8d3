"""The messages a sync leaves out: a limited timeline is filled from the server's history, oldest first.

Synapse gives ten events by default and never more than a hundred, however many were missed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import nio
import structlog

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import at_path, source_of, text_at
from sitebot.channels.matrix.wire import Patience, asked
from sitebot.errors import Refused

PAGE = 100
#: Pages at most when a room is new to us: its history is nobody's question to us.
NEW_ROOM_PAGES = 10
log = structlog.get_logger(__name__)


class History:
    """Completes timelines."""

    def __init__(self, client: BotClient, patience: Patience) -> None:
        self._client, self._patience = client, patience

    async def complete(self, room: str, timeline: Any, since: str | None, *, new: bool) -> list[Any]:
        """All events since the last sync, or since our invitation where the room is new to us."""
        events = list(timeline.events)
        if not new:
            return await self._before(room, timeline.prev_batch, since) + events if timeline.limited else events
        return after_invitation(await self._back_to_invitation(room, timeline, events), self._client.user_id)

    async def _before(self, room: str, start: str | None, since: str | None) -> list[Any]:
        missed: list[Any] = []
        while start:
            page = await self._page(room, start, since)
            missed += page.chunk
            start = page.end if page.chunk else None
        log.info("timeline completed", room=room, missed=len(missed))
        return missed[::-1]

    async def _back_to_invitation(self, room: str, timeline: Any, events: list[Any]) -> list[Any]:
        """What was asked between the invitation and our joining is ours to answer, even if a sync lay between them."""
        start = timeline.prev_batch
        for _ in range(NEW_ROOM_PAGES):
            if not start or any(is_invitation(event, self._client.user_id) for event in events):
                break
            page = await self._page(room, start, None)
            events = page.chunk[::-1] + events
            start = page.end if page.chunk else None
        return events

    async def _page(self, room: str, start: str, since: str | None) -> Any:
        def request() -> Any:
            return asked(
                self._client.room_messages(
                    room, start=start, end=since, direction=nio.MessageDirection.back, limit=PAGE
                ),
                nio.RoomMessagesResponse,
            )

        try:
            return await self._patience.until(request)
        except Refused as error:  # thrown out meanwhile: there is nothing left to read
            log.warning("history closed to us", room=room, why=str(error))
            return nio.RoomMessagesResponse(room, [], start, None)


def is_invitation(event: Any, me: str) -> bool:
    source = source_of(event)
    return (
        text_at(source, "type") == "m.room.member"
        and at_path(source, "state_key") == me
        and text_at(source, "content", "membership") == "invite"
    )


def after_invitation(events: Sequence[Any], me: str) -> list[Any]:
    """The events after our last invitation; after our joining where nobody invited us."""
    for at in range(len(events) - 1, -1, -1):
        if is_invitation(events[at], me):
            return list(events[at:])
    return after_joining(events, me)


def after_joining(events: Sequence[Any], me: str) -> list[Any]:
    for at in range(len(events) - 1, -1, -1):
        source = source_of(events[at])
        if text_at(source, "type") == "m.room.member" and at_path(source, "state_key") == me:
            return list(events[at:])
    return []
