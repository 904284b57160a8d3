"""People with phones, for the tests: a second user of the homeserver driven by explicit syncs. No test lives here."""

from __future__ import annotations

import asyncio
import collections
import contextlib
from collections.abc import Callable
from typing import Any

import nio

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.media import put
from sitebot.message import Media
from tests.matrix.matrix_server import PASSWORD, Homeserver

ENCRYPTION = {"type": "m.room.encryption", "state_key": "", "content": {"algorithm": "m.megolm.v1.aes-sha2"}}


class Clock:
    """Waits without time passing, and remembers how long they would have been."""

    def __init__(self) -> None:
        self.waits: list[float] = []

    async def pause(self, seconds: float) -> None:
        self.waits.append(seconds)
        await asyncio.sleep(0)


class Phone:
    """One person's client. ``seen`` is every room event in the order it came."""

    def __init__(self, client: BotClient, server: Homeserver) -> None:
        self.client, self.server = client, server
        self.id: str = client.user_id
        self.seen: list[Any] = []
        self.typing: list[Any] = []

    async def sync(self, timeout: int = 0) -> Any:
        """One sync with all that belongs to it."""
        response = await self.client.sync(timeout=timeout, sync_filter={"room": {"timeline": {"limit": 100}}})
        assert isinstance(response, nio.SyncResponse), response
        for room in response.rooms.join.values():
            self.seen += room.timeline.events
            self.typing += [event for event in room.ephemeral if isinstance(event, nio.TypingNoticeEvent)]
        await self.client.housekeeping()
        return response

    async def until(self, condition: Callable[[], Any], seconds: float = 60) -> Any:
        """Sync until the condition gives something."""
        async with asyncio.timeout(seconds):
            while not (found := condition()):
                await self.sync(2000)
        return found

    def said_by(self, sender: str, room: str = "") -> list[Any]:
        """Texts of a sender, edits included."""
        kinds = (nio.RoomMessageText, nio.RoomMessageNotice)
        return [e for e in self.seen if isinstance(e, kinds) and e.sender == sender]

    async def answer_to(self, event_id: str, sender: str) -> Any:
        """The answer that replies to an event."""
        return await self.until(lambda: next(iter(answers(self.seen, event_id, sender)), None))

    async def create(self, *invited: str, encrypted: bool = False, **options: Any) -> str:
        state = [ENCRYPTION] if encrypted else []
        answer = await self.client.room_create(invite=list(invited), initial_state=state, **options)
        assert isinstance(answer, nio.RoomCreateResponse), answer
        await self.until(lambda: answer.room_id in self.client.rooms)
        return str(answer.room_id)

    async def joined_by(self, room: str, person: str) -> None:
        """Wait until a person has joined."""

        def there() -> bool:
            user = self.client.rooms[room].users.get(person)
            return bool(user and not user.invited)

        await self.until(there)

    async def say(self, room: str, text: str, **extra: Any) -> str:
        """A text; its event id."""
        return await self.send(room, "m.room.message", {"msgtype": "m.text", "body": text, **extra})

    async def send(self, room: str, kind: str, content: dict[str, Any]) -> str:
        answer = await self.client.room_send(room, kind, content)
        assert isinstance(answer, nio.RoomSendResponse), answer
        return str(answer.event_id)

    async def upload(self, media: Media, *, encrypt: bool) -> dict[str, Any]:
        """Where the bytes lie on the homeserver; asked again when the homeserver is slow."""
        for _ in range(3):
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(15):
                    return await put(self.client, media, encrypt=encrypt)
        raise AssertionError("the homeserver took no upload")

    def raw(self, method: str, path: str, body: Any = None) -> Any:
        """A request by hand, past the library."""
        status, answer = self.server.request(method, path, body, self.client.access_token)
        assert status == 200, (status, answer)
        return answer


def answers(seen: list[Any], event_id: str, sender: str) -> list[Any]:
    """Every answer of a sender to an event."""

    def target(event: Any) -> Any:
        return event.source["content"].get("m.relates_to", {}).get("m.in_reply_to", {}).get("event_id")

    kinds = (nio.RoomMessageText, nio.RoomMessageNotice)
    return [e for e in seen if isinstance(e, kinds) and e.sender == sender and target(e) == event_id]


def answered(seen: list[Any], sender: str) -> collections.Counter[str]:
    """How often a sender has answered each event."""
    kinds = (nio.RoomMessageText, nio.RoomMessageNotice)
    ties = (e.source["content"].get("m.relates_to", {}) for e in seen if isinstance(e, kinds) and e.sender == sender)
    return collections.Counter(tie.get("m.in_reply_to", {}).get("event_id") for tie in ties)


async def new_phone(server: Homeserver, user: str, store: Any, *, device: str = "", joins: bool = True) -> Phone:
    """Log a registered user in."""
    store.mkdir(parents=True, exist_ok=True)
    config = nio.AsyncClientConfig(request_timeout=15, max_timeouts=5, max_limit_exceeded=5, store_sync_tokens=False)
    client = BotClient(server.url, user, device_id=device or None, store_path=str(store), config=config)
    answer = await client.login(PASSWORD)
    assert isinstance(answer, nio.LoginResponse), answer
    phone = Phone(client, server)
    await phone.sync()
    phone.seen.clear()
    return phone
