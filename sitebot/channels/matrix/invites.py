"""Invitations: taken from people on the roster, declined from anybody else. They are kept as rows until answered.

A homeserver delivers an invitation once; after a crash it would be forgotten if only the library knew it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import nio
import structlog

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import at_path, source_of, text_at
from sitebot.channels.matrix.wire import asked
from sitebot.errors import Refused, Unreachable

#: Key of an invitation's row; the value is who invited, empty once answered.
ROW = "invite:"
log = structlog.get_logger(__name__)


class Invites:
    """The invitations that wait for an answer."""

    def __init__(self, client: BotClient, knows: Callable[[str], bool], state: Mapping[str, str]) -> None:
        self._client, self._knows = client, knows
        self._waiting = {key.removeprefix(ROW): who for key, who in state.items() if key.startswith(ROW) and who}

    @property
    def waiting(self) -> bool:
        return bool(self._waiting)

    def note(self, invited: Mapping[str, Any]) -> dict[str, str]:
        """Take the invitations of a sync in; rows to commit."""
        fresh = {room: inviter(info.invite_state, self._client.user_id) for room, info in invited.items()}
        self._waiting |= fresh
        return {ROW + room: who for room, who in fresh.items()}

    async def answer(self) -> dict[str, str]:
        """Join or decline what waits; rows of those that are settled. What fails for now stays."""
        settled = [room for room, who in self._waiting.items() if await self._is_settled(room, who)]
        for room in settled:
            del self._waiting[room]
        return dict.fromkeys((ROW + room for room in settled), "")

    async def _is_settled(self, room: str, who: str) -> bool:
        welcome = self._knows(who)
        try:
            if welcome:
                await asked(self._client.join(room), nio.JoinResponse)
            else:
                await asked(self._client.room_leave(room), nio.RoomLeaveResponse)
        except Refused as error:  # withdrawn meanwhile
            log.info("invitation void", room=room, by=who, why=str(error))
        except Unreachable:
            return False
        log.info("invitation answered", room=room, by=who, joined=welcome)
        return True


def inviter(invite_state: list[Any], me: str) -> str:
    """Who invited us, as our homeserver tells; "?" where it does not, which is nobody on a roster."""
    for event in invite_state:
        source = source_of(event)
        if at_path(source, "state_key") == me and text_at(source, "content", "membership") == "invite":
            return text_at(source, "sender") or "?"
    return "?"
