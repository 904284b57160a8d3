"""What every channel can do: bring messages to the inbox, and send what the outbox holds."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import Protocol

from sitebot.message import Incoming, Outgoing

#: Commits messages to the inbox together with the channel's own state (a cursor, a sync token), then returns.
#: Messages known by (channel, external_id) are passed over.
Keep = Callable[[Sequence[Incoming], Mapping[str, str]], Awaitable[None]]


class Channel(Protocol):
    """One way to reach phones."""

    name: str

    async def listen(self, keep: Keep) -> None:
        """Bring messages until cancelled; raises ChannelError when it cannot go on."""

    async def send(self, out: Outgoing) -> str:
        """Send one message and return its external id; raises ChannelError to have it tried again."""
