"""The pinned message "today" of a crew room: one a day, edited in place, so that it never scrolls the talk away."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

import structlog
from pydantic import BaseModel, ConfigDict

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.content import edited, mark_of, pieces, text_content
from sitebot.channels.matrix.events import at_path
from sitebot.channels.matrix.sending import Sender
from sitebot.channels.matrix.wire import call
from sitebot.errors import Refused

#: Key of the row that names a room's pinned message.
ROW = "today:"
log = structlog.get_logger(__name__)


class Pinned(BaseModel):
    """The pinned message of a room and the shift day it is about."""

    model_config = ConfigDict(frozen=True)

    event_id: str
    day: str
    text: str
    revision: int = 0


class Today:
    """Writes the pinned messages."""

    def __init__(self, client: BotClient, sender: Sender, state: Mapping[str, str]) -> None:
        self._client, self._sender = client, sender
        rows = {key: value for key, value in state.items() if key.startswith(ROW) and value}
        self._pinned = {key.removeprefix(ROW): Pinned.model_validate_json(value) for key, value in rows.items()}

    async def show(self, room: str, day: str, text: str) -> dict[str, str]:
        """Show the text as the room's "today"; the row to commit."""
        content, before = text_content(pieces(text)[0]), self._pinned.get(room)
        if before is None or before.day != day:
            event_id = await self._sender.say(room, content, mark_of(f"today {room} {day}"))
            await self._pin(room, event_id, before.event_id if before else "")
            return self._row(room, Pinned(event_id=event_id, day=day, text=text))
        if before.text == text:
            return {}
        # The revision: a text may come back (three pending, two, three again), and must then be sent again.
        mark = mark_of(f"today {room} {day} {before.revision} {text}")
        await self._sender.say(room, edited(before.event_id, content), mark)
        return self._row(room, before.model_copy(update={"text": text, "revision": before.revision + 1}))

    def _row(self, room: str, pinned: Pinned) -> dict[str, str]:
        self._pinned[room] = pinned
        return {ROW + room: pinned.model_dump_json()}

    async def _pin(self, room: str, event_id: str, before: str) -> None:
        """Pin it in place of yesterday's; other pins stay. Without the right to pin it is a message like any other."""
        path = f"/_matrix/client/v3/rooms/{quote(room, safe='')}/state/m.room.pinned_events/"
        try:
            pinned = at_path(await call(self._client, "GET", path), "pinned")
        except Refused:  # nothing was ever pinned
            pinned = []
        others = [pin for pin in pinned if pin not in (event_id, before)] if isinstance(pinned, list) else []
        try:
            await call(self._client, "PUT", path, {"pinned": [*others, event_id]})
        except Refused as error:
            log.warning("not allowed to pin", room=room, why=str(error))
