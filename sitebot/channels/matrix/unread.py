"""Messages whose key has not come: kept with the inbox, read as soon as it does, asked for again if it never does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

import nio
import structlog
from nio.exceptions import EncryptionError
from pydantic import TypeAdapter

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import Event, event_of

#: Key of an unread message's row; empty once it is read or given up.
ROW = "unread:"
#: A key is late by seconds; after this the sender is asked to write again.
PATIENCE = timedelta(seconds=90)
#: Given up after this; and not more than so many at once, since anybody in a room can send noise.
KEPT, MOST = timedelta(days=14), 500
log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Unread:
    """One message that could not be read yet."""

    room: str
    source: dict[str, Any]
    since: datetime
    #: The sender was asked to write again.
    told: bool = False

    @property
    def id(self) -> str:
        return str(self.source.get("event_id", ""))


UNREAD: TypeAdapter[Unread] = TypeAdapter(Unread)


class UnreadPile:
    """All unread messages, by event id."""

    def __init__(self, client: BotClient, state: Mapping[str, str]) -> None:
        self._client = client
        kept = (UNREAD.validate_json(value) for key, value in state.items() if key.startswith(ROW) and value)
        self._pile = {unread.id: unread for unread in kept}

    def add(self, room: str, event: Any, now: datetime) -> dict[str, str]:
        """Keep an undecryptable event of a sync; the row to commit."""
        unread = Unread(room, dict(event.source), now)
        if len(self._pile) >= MOST or not event_of(unread.source) or unread.id in self._pile:
            return {}
        log.info("message without its key", room=room, sender=event.sender)
        return self._put(unread)

    def readable(self) -> list[tuple[str, Event]]:
        """The (room, event) of every message that can be read now."""
        opened = ((unread.room, self._open(unread)) for unread in self._pile.values())
        return [(room, event) for room, event in opened if event is not None]

    def _open(self, unread: Unread) -> Event | None:
        event = nio.MegolmEvent.from_dict({**unread.source, "room_id": unread.room})
        try:
            return event_of(self._client.decrypt_event(event).source)
        except (EncryptionError, AttributeError, ValueError):
            return None

    def done(self, event_ids: Iterable[str]) -> dict[str, str]:
        """Rows that forget these messages."""
        gone = [event_id for event_id in event_ids if self._pile.pop(event_id, None)]
        return dict.fromkeys((ROW + event_id for event_id in gone), "")

    def overdue(self, now: datetime) -> list[Unread]:
        """Messages whose senders should be asked to write again."""
        return [unread for unread in self._pile.values() if not unread.told and now - unread.since >= PATIENCE]

    def told(self, unread: Unread) -> dict[str, str]:
        return self._put(replace(unread, told=True))

    def expired(self, now: datetime) -> dict[str, str]:
        return self.done([unread.id for unread in self._pile.values() if now - unread.since > KEPT])

    def _put(self, unread: Unread) -> dict[str, str]:
        self._pile[unread.id] = unread
        return {ROW + unread.id: UNREAD.dump_json(unread).decode()}
