"""The Matrix channel: builds the parts and joins them. Each part has its module; nothing is decided here."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path

import nio
import structlog

from sitebot.channels.matrix import ingest
from sitebot.channels.matrix.account import hold, load
from sitebot.channels.matrix.awaited import Awaited
from sitebot.channels.matrix.backfill import History
from sitebot.channels.matrix.client import open_client
from sitebot.channels.matrix.courtesy import TYPING_AFTER_S, Courtesy
from sitebot.channels.matrix.cross_signing import ensure_cross_signed
from sitebot.channels.matrix.directory import Directory
from sitebot.channels.matrix.hearing import Hearing
from sitebot.channels.matrix.ingest import Ingest
from sitebot.channels.matrix.invites import Invites
from sitebot.channels.matrix.reading import NAME
from sitebot.channels.matrix.recall import Recall
from sitebot.channels.matrix.rooms import RoomBook
from sitebot.channels.matrix.sending import Sender
from sitebot.channels.matrix.today import Today
from sitebot.channels.matrix.unread import UnreadPile
from sitebot.channels.matrix.verification import Verification
from sitebot.channels.matrix.wire import Patience, Pause, asked
from sitebot.channels.protocol import Keep
from sitebot.errors import Refused, Unreachable
from sitebot.message import Outgoing, day_of_key

log = structlog.get_logger(__name__)


class MatrixChannel:
    """One account, one device, one process."""

    name = NAME
    #: The outbox encloses pictures.
    carries_pictures = True
    #: One room's trouble is no other's.
    sends_side_by_side = True

    def __init__(
        self,
        store: Path,
        state: Mapping[str, str],
        knows: Callable[[str], bool],
        *,
        names: tuple[str, ...] = (),
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        pause: Pause = asyncio.sleep,
        typing_after: float = TYPING_AFTER_S,
    ) -> None:
        """``knows`` says whether an address is on the roster; ``names`` are what crews call the assistant in a room."""
        account = load(store)
        self._lock = hold(store)
        self._store, self._names = store, list(names) or [account.user[1:].split(":")[0]]
        self._client = open_client(account, store)
        self._book = RoomBook(account.user, state)
        self._client.expect_rooms(room for room in self._book if room.joined)
        self._recall = Recall(self._client)
        self._directory = Directory(self._client, self._book)
        self._courtesy = Courtesy(self._client, typing_after)
        self._awaited = Awaited()
        told = {"answered": self._courtesy.answered, "said": self._awaited.said}
        self._sender = Sender(self._client, self._directory, self._recall, now=now, pause=pause, **told)
        self._today = Today(self._client, self._sender, state)
        self._patience = Patience(pause)
        self._keep: Keep | None = None
        self._ingest = self._build_ingest(state, knows, now)
        if self._ingest.since:
            self._directory.known.set()

    def _build_ingest(
        self, state: Mapping[str, str], knows: Callable[[str], bool], now: Callable[[], datetime]
    ) -> Ingest:
        client, book, patience = self._client, self._book, self._patience
        return Ingest(
            client=client,
            book=book,
            history=History(client, patience),
            hearing=Hearing(client, book, self._recall, patience, names=self._names, knows=knows, now=now),
            unread=UnreadPile(client, state),
            invites=Invites(client, knows, state),
            courtesy=self._courtesy,
            awaited=self._awaited,
            verification=Verification(client, self._directory, self._sender, self._store, knows),
            patience=patience,
            knows=knows,
            now=now,
            since=state.get(ingest.TOKEN) or None,
            ready=self._directory.known.set,
        )

    async def listen(self, keep: Keep) -> None:
        """Bring messages until cancelled. LoggedOut: the token is revoked, somebody has to log in again."""
        try:
            self._keep = keep
            await self._patience.until(self._present)
            await self._ingest.run(keep)
        finally:
            await self._courtesy.stop()
            await self._client.close()
            self._lock.close()

    async def send(self, out: Outgoing) -> str:
        """Send one message; its event id. Sent again with the same key it is the same event."""
        return await (self._show_today(out) if out.kind == "today" else self._sender.send(out))

    async def _show_today(self, out: Outgoing) -> str:
        """Show the text as the room's pinned message of the shift day, edited in place."""
        room = await self._directory.room_for(out)
        if self._keep is None:
            raise Unreachable("Not yet in touch with the homeserver")
        if rows := await self._today.show(room, day_of_key(out.key), out.text):
            await self._keep([], rows)
        return ""

    async def direct_room(self, person: str) -> str:
        """The direct room with a person, opened when there is none."""
        return await self._directory.direct_room(person)

    async def _present(self) -> None:
        """Make sure of the token, of our keys on the server and of our device's signature."""
        await asked(self._client.whoami(), nio.WhoamiResponse)
        if self._client.should_upload_keys:
            await asked(self._client.keys_upload(), nio.KeysUploadResponse)
        try:
            await ensure_cross_signed(self._client, self._store)
        except Refused as error:
            log.error("clients of today will not trust this device", why=str(error))
