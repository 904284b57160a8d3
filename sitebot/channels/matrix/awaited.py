"""Rooms whose people wait for an answer: the next sync lets it go first. No request is made here.

A homeserver serves one request at a time. A sync that is open while we send is woken by our own words, and the people's
have to wait for it.
"""

from __future__ import annotations

import asyncio
from contextlib import suppress

#: For no longer than this [s]: some messages need no answer, and a slow one must not make us deaf.
LONGEST_S = 0.15


class Awaited:
    """What was heard and is not answered yet."""

    def __init__(self) -> None:
        self._rooms: set[str] = set()
        self._over = asyncio.Event()

    def heard(self, room: str) -> None:
        self._rooms.add(room)

    def said(self, room: str) -> None:
        """Something has been said in a room, or could not be."""
        self._rooms.discard(room)
        if not self._rooms:
            self._over.set()

    async def over(self) -> None:
        """Until all are answered, or we have waited long enough."""
        if not self._rooms:
            return
        self._over.clear()
        with suppress(TimeoutError):
            async with asyncio.timeout(LONGEST_S):
                await self._over.wait()
        self._rooms.clear()
