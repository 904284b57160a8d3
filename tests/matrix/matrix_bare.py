"""The barest echo bot of the library: ``python -m tests.matrix.matrix_bare URL USER PASSWORD STORE``. No tests here.

What a round trip costs without an inbox, a log or an answer worth the name: the measure of matrix_speed.py.
"""

from __future__ import annotations

import asyncio
import pathlib
import sys
from typing import Any

import nio


async def echo(url: str, user: str, password: str, store: str) -> None:
    pathlib.Path(store).mkdir(parents=True, exist_ok=True)
    client = nio.AsyncClient(url, user, store_path=store, config=nio.AsyncClientConfig(store_sync_tokens=True))
    await client.login(password)

    async def join(room: Any, event: Any) -> None:
        await client.join(room.room_id)

    async def answer(room: Any, event: Any) -> None:
        if event.sender != client.user_id:
            content = {"msgtype": "m.text", "body": "re: " + event.body}
            await client.room_send(room.room_id, "m.room.message", content, ignore_unverified_devices=True)

    client.add_event_callback(join, nio.InviteMemberEvent)
    await client.sync(timeout=0)
    client.add_event_callback(answer, nio.RoomMessageText)
    await client.sync_forever(timeout=30_000)


if __name__ == "__main__":
    asyncio.run(echo(*sys.argv[1:5]))
