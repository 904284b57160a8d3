"""Completes what was read: is it said to us, is the edit a fresh one of the writer's own, and the photo's bytes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import structlog

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import Event
from sitebot.channels.matrix.media import fetch
from sitebot.channels.matrix.reading import NAME, attachment, names_us, read, without_name
from sitebot.channels.matrix.recall import Note, Recall
from sitebot.channels.matrix.rooms import RoomBook
from sitebot.channels.matrix.wire import Patience
from sitebot.errors import Refused
from sitebot.message import Incoming, Media

#: An edit of something older is not answered: people tidy up old talk.
EDITABLE = timedelta(days=1)
log = structlog.get_logger(__name__)


class Hearing:
    """Reads an event and asks the homeserver for what the event alone does not tell."""

    def __init__(
        self,
        client: BotClient,
        book: RoomBook,
        recall: Recall,
        patience: Patience,
        *,
        names: Sequence[str],
        knows: Callable[[str], bool],
        now: Callable[[], datetime],
    ) -> None:
        self._client, self._book, self._recall, self._patience = client, book, recall, patience
        self._names, self._knows, self._now = names, knows, now

    def note(self, event: Event) -> None:
        """Remember who wrote it, for replies and edits to come."""
        self._recall.note(event)

    async def hear(self, room: str, event: Event) -> Incoming | None:
        """The message of an event, None where nothing is to be answered."""
        me = self._client.user_id
        heard = read(event, room, me, self._now())
        if heard is None or (heard.edits and not await self._is_own_fresh_edit(heard)):
            return None
        addressed = await self._is_addressed(heard, event)
        text = without_name(heard.text, me, self._names) if not heard.reaction else heard.text
        shared = not self._is_direct(room)
        return replace(heard, addressed=addressed, shared=shared, text=text, media=await self._photos(event))

    def unreadable(self, room: str, event: Event) -> Incoming:
        """The message that nobody can read, as a message; the late text may still come under its own id."""
        return Incoming(
            channel=NAME,
            external_id=event.event_id + "#unreadable",
            sender=event.sender,
            text="",
            received_at=self._now(),
            written_at=event.at,
            room=room,
            reply_to=event.event_id,
            shared=not self._is_direct(room),
            unreadable=True,
        )

    async def _is_own_fresh_edit(self, heard: Incoming) -> bool:
        original = await self._note_of(heard.room, heard.edits)
        if original is None or original.sender != heard.sender:
            return False
        return heard.written_at is not None and heard.written_at - original.at <= EDITABLE

    async def _is_addressed(self, heard: Incoming, event: Event) -> bool:
        """In a direct room always; else by our name, or where it hangs on a message of ours."""
        if self._is_direct(heard.room) or names_us(event, self._client.user_id, self._names):
            return True
        target = heard.reply_to or heard.edits
        note = await self._note_of(heard.room, target) if target and not heard.edits else None
        return note is not None and note.sender == self._client.user_id

    def _is_direct(self, room: str) -> bool:
        known = self._book.get(room)
        return known is not None and known.direct

    async def _note_of(self, room: str, event_id: str) -> Note | None:
        return await self._patience.until(lambda: self._recall.of(room, event_id))

    async def _photos(self, event: Event) -> tuple[Media, ...]:
        """The photo of a person we know; a stranger's is not loaded."""
        attached = attachment(event)
        if attached is None or not self._knows(event.sender):
            return ()
        try:
            return (await self._patience.until(lambda: fetch(self._client, attached)),)
        except Refused as error:
            # Named without its bytes: its sender is told that it did not come through.
            log.warning("photo not to be had", sender=event.sender, why=str(error))
            return (Media(attached.name, attached.mime, b""),)
