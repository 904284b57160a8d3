"""Which room a message goes to: the one it names, or the direct room with its addressee, opened when there is none."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from urllib.parse import quote

import nio
import structlog

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import at_path
from sitebot.channels.matrix.rooms import RoomBook
from sitebot.channels.matrix.wire import asked, call
from sitebot.errors import Refused, Unreachable
from sitebot.message import Outgoing

ENCRYPTION = {
    "type": "m.room.encryption",
    "state_key": "",
    "content": {"algorithm": "m.megolm.v1.aes-sha2"},
}
#: How long a room we have opened may take to come back in a sync.
OPENING_S = 30.0
log = structlog.get_logger(__name__)


class Directory:
    """Finds and opens rooms."""

    def __init__(self, client: BotClient, book: RoomBook) -> None:
        self._client, self._book = client, book
        self._doors: defaultdict[str, asyncio.Lock] = defaultdict(asyncio.Lock)
        #: Set once we know our rooms: from the state, or after the very first sync.
        self.known = asyncio.Event()

    async def room_for(self, out: Outgoing) -> str:
        """The room of an outgoing message."""
        if not self.known.is_set():
            raise Unreachable("Not yet in touch with the homeserver")
        if not out.room:
            return await self.direct_room(out.address)
        if not self._book.is_joined(out.room) and out.kind == "reminder":
            # The crew's room is lost to us; the iron is hot all the same.
            return await self.direct_room(out.address)
        if not self._book.is_joined(out.room):
            raise Refused(f"The assistant is not in room {out.room} (any more); somebody has to invite it")
        return out.room

    async def direct_room(self, person: str) -> str:
        """The direct room with a person; two messages at once open one."""
        async with self._doors[person]:
            room = self._book.direct_with(person)
            return room.id if room else await self._open(person)

    async def _open(self, person: str) -> str:
        """Open an encrypted room and wait for it: before the sync brings the guest, his devices would get no key."""
        request = self._client.room_create(
            is_direct=True, invite=[person], initial_state=[ENCRYPTION], preset=nio.RoomPreset.private_chat
        )
        room = str((await asked(request, nio.RoomCreateResponse)).room_id)
        log.info("direct room opened", room=room)
        try:
            async with asyncio.timeout(OPENING_S):
                await self._book.seen(room, person)
        except TimeoutError as error:
            raise Unreachable("The room just opened has not come back yet") from error
        await self._list_as_direct(person, room)
        return room

    async def _list_as_direct(self, person: str, room: str) -> None:
        """Note it in the account's list of direct rooms, for other clients of the account; a failure costs nothing."""
        path = f"/_matrix/client/v3/user/{quote(self._client.user_id, safe='')}/account_data/m.direct"
        try:
            listed = await call(self._client, "GET", path)
        except Refused:  # none yet
            listed = {}
        except Unreachable:
            return
        rooms = at_path(listed, person)
        listed[person] = [*(rooms if isinstance(rooms, list) else []), room]
        try:
            await call(self._client, "PUT", path, listed)
        except (Refused, Unreachable) as error:
            log.info("list of direct rooms not written", why=str(error))
