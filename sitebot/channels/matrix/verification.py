"""Emoji verification, asked for by people on the roster: from device to device, or in a room as clients do it today.

The assistant has no eyes: it shows its seven emoji in the direct room and in the log, the person compares and confirms.
Compare with the log of the machine where the homeserver itself is not trusted. Nobody's device becomes trusted by this.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nio
import structlog
from nio.event_builders.direct_messages import ToDeviceMessage

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.content import mark_of, text_content
from sitebot.channels.matrix.cross_signing import identity
from sitebot.channels.matrix.directory import Directory
from sitebot.channels.matrix.events import Event, source_of, text_at
from sitebot.channels.matrix.sas import METHOD, Comparison, Party
from sitebot.channels.matrix.sending import Sender
from sitebot.channels.matrix.wire import asked
from sitebot.errors import ChannelError

PREFIX = "m.key.verification."
#: Exchanges under way at most; the oldest goes.
MOST = 20
log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Step:
    """One event of an exchange; ``room`` is empty where it came to our device."""

    flow: str
    who: str
    kind: str
    content: Mapping[str, Any]
    room: str = ""


class Verification:
    """Answers the exchanges."""

    def __init__(
        self, client: BotClient, directory: Directory, sender: Sender, store: Path, knows: Callable[[str], bool]
    ) -> None:
        self._client, self._directory, self._sender = client, directory, sender
        self._store, self._knows = store, knows
        self._open: dict[str, Comparison] = {}

    async def from_device(self, event: Any) -> None:
        """A message to our device; anything that is no verification is left alone."""
        source = source_of(event)
        kind, content = text_at(source, "type"), source.get("content")
        if kind.startswith(PREFIX) and isinstance(content, dict):
            flow, who = text_at(content, "transaction_id"), text_at(source, "sender")
            await self._receive(Step(flow, who, kind.removeprefix(PREFIX), content))

    async def from_room(self, room: str, event: Event) -> None:
        """The same as events of a room, whose flow is named by the request's event."""
        content = event.content
        if text_at(content, "msgtype") == PREFIX + "request":
            if text_at(content, "to") == self._client.user_id:
                await self._receive(Step(event.event_id, event.sender, "request", content, room))
        elif event.type.startswith(PREFIX):
            kind = event.type.removeprefix(PREFIX)
            await self._receive(Step(event.related_to, event.sender, kind, content, room))

    async def _receive(self, step: Step) -> None:
        if not step.flow or step.who == self._client.user_id or not self._knows(step.who):
            return
        try:
            await (self._begin(step) if step.kind == "request" else self._answer(step))
        except ChannelError as error:  # the person begins anew
            log.warning("verification broken off", person=step.who, why=str(error))
            self._open.pop(step.flow, None)

    async def _answer(self, step: Step) -> None:
        comparison = self._open.get(step.flow)
        if comparison is None or comparison.them.user != step.who:
            return
        for kind, body in comparison.receive(step.kind, step.content):
            await self._send(comparison, kind, body, step.room)
        if step.kind == "key" and comparison.emoji:
            await self._show(comparison, step.room)
        if comparison.state in ("finished", "cancelled"):
            log.info("verification ended", person=step.who, state=comparison.state)
            del self._open[step.flow]

    async def _begin(self, step: Step) -> None:
        them = await self._party(step.who, text_at(step.content, "from_device"))
        if them is None:
            return
        self._open[step.flow] = comparison = Comparison(step.flow, self._us(), them)
        while len(self._open) > MOST:
            del self._open[next(iter(self._open))]
        await self._send(comparison, "ready", {"from_device": self._client.device_id, "methods": [METHOD]}, step.room)

    def _us(self) -> Party:
        own, master = self._client.olm.account.identity_keys["ed25519"], identity(self._store)["master"]
        keys = {f"ed25519:{self._client.device_id}": own, master.name: master.public}
        return Party(self._client.user_id, self._client.device_id, keys)

    async def _party(self, who: str, device: str) -> Party | None:
        """The device that asks, with its key as the homeserver has it."""
        self._client.olm.users_for_key_query.add(who)
        await asked(self._client.keys_query(), nio.KeysQueryResponse)
        known = self._client.device_store[who].get(device)
        return Party(who, device, {f"ed25519:{device}": known.ed25519}) if known else None

    async def _send(self, comparison: Comparison, kind: str, body: dict[str, Any], room: str) -> None:
        if room:
            content = body | {"m.relates_to": {"rel_type": "m.reference", "event_id": comparison.flow}}
            request = self._client.room_send(room, PREFIX + kind, content, tx_id=mark_of(comparison.flow + kind))
            await asked(request, nio.RoomSendResponse)
        else:
            content = body | {"transaction_id": comparison.flow}
            message = ToDeviceMessage(PREFIX + kind, comparison.them.user, comparison.them.device, content)
            await asked(self._client.to_device(message), nio.ToDeviceResponse)

    async def _show(self, comparison: Comparison, room: str) -> None:
        emoji = " ".join(comparison.emoji)
        log.info("verification: compare", person=comparison.them.user, emoji=emoji)
        where = room or await self._directory.direct_room(comparison.them.user)
        await self._sender.say(where, text_content(emoji), mark_of(comparison.flow + "emoji"))
