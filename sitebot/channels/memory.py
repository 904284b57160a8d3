"""A channel without a wire: for tests, scripted days and the demo. What was sent stays in ``sent``."""

from __future__ import annotations

import asyncio

from sitebot.channels.protocol import Keep
from sitebot.message import Incoming, Outgoing


class MemoryChannel:
    """Keeps what is sent, and hands on what is put in."""

    name = "memory"

    def __init__(self) -> None:
        self.sent: list[Outgoing] = []
        self.queue: asyncio.Queue[Incoming] = asyncio.Queue()

    async def listen(self, keep: Keep) -> None:
        while True:
            await keep([await self.queue.get()], {})

    async def send(self, out: Outgoing) -> str:
        self.sent.append(out)
        return out.key
