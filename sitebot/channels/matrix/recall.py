"""Who wrote an event, when, and in which thread: remembered for a while, else asked of the server."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import quote

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import Event, event_of
from sitebot.channels.matrix.wire import call
from sitebot.errors import Refused

REMEMBERED = 5000


@dataclass(frozen=True, slots=True)
class Note:
    """What a reply, an edit or a reaction needs to know of its target."""

    sender: str
    at: datetime
    thread: str = ""


class Recall:
    """The last events that passed by. Sender, time and relation are in clear also in encrypted rooms."""

    def __init__(self, client: BotClient) -> None:
        self._client = client
        self._notes: OrderedDict[str, Note] = OrderedDict()

    def note(self, event: Event) -> None:
        self._keep(event.event_id, Note(event.sender, event.at, event.thread))

    def known(self, event_id: str) -> Note | None:
        return self._notes.get(event_id)

    async def of(self, room: str, event_id: str) -> Note | None:
        """The note of an event; None if the server will not show it. Raises Unreachable."""
        if event_id not in self._notes:
            path = f"/_matrix/client/v3/rooms/{quote(room, safe='')}/event/{quote(event_id, safe='')}"
            try:
                event = event_of(await call(self._client, "GET", path))
            except Refused:
                return None
            if event is not None:
                self.note(event)
        return self._notes.get(event_id)

    def _keep(self, event_id: str, note: Note) -> None:
        self._notes[event_id] = note
        if len(self._notes) > REMEMBERED:
            self._notes.popitem(last=False)
