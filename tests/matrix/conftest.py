"""The homeserver of the session, and unique people for every test; so no test waits for a restart or sees another."""

from __future__ import annotations

import os
import pathlib
import shutil
import signal
import tempfile
import uuid
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from typing import Any

import pytest
import pytest_asyncio

pytest.importorskip("nio", reason="the Matrix tests need: pip install 'sitebot[matrix]'")
pytest.importorskip("synapse", reason="the Matrix tests need a homeserver: pip install matrix-synapse")

from sitebot.channels.matrix import log_in
from tests.matrix.matrix_echo import Echo
from tests.matrix.matrix_gateway import Gateway
from tests.matrix.matrix_people import Phone, new_phone
from tests.matrix.matrix_server import NAME, PASSWORD, Homeserver

SHM = pathlib.Path("/dev/shm")


@pytest.fixture(autouse=True)
def in_time(request: pytest.FixtureRequest) -> Iterator[None]:
    """A test that hangs fails, and shows where."""

    def too_long(*_: object) -> None:
        raise TimeoutError("the test took more than five minutes")

    signal.signal(signal.SIGALRM, too_long)
    signal.alarm(0 if request.node.get_closest_marker("long") else 300)
    yield
    signal.alarm(0)


@pytest.fixture(scope="session")
def homeserver() -> Iterator[Homeserver]:
    base = SHM if SHM.is_dir() and os.access(SHM, os.W_OK) else None
    folder = pathlib.Path(tempfile.mkdtemp(prefix="hs-", dir=base))
    server = Homeserver(folder).start()
    yield server
    server.stop()
    shutil.rmtree(folder, ignore_errors=True)


class Answers:
    """A console with the answers written down beforehand."""

    def __init__(self, *answers: str) -> None:
        self.answers, self.lines = list(answers), list[str]()

    def ask(self, question: str) -> str:
        return self.answers.pop(0)

    ask_secret = ask

    def tell(self, line: str) -> None:
        self.lines.append(line)


class World:
    """Who takes part in one test."""

    def __init__(self, server: Homeserver, folder: pathlib.Path) -> None:
        self.server, self.folder = server, folder
        self.tag = uuid.uuid4().hex[:8]
        self.bot_id = f"@bot_{self.tag}:{NAME}"
        self.store, self.log = folder / "bot", folder / "bot.db"
        self.roster: set[str] = set()
        self.gateway: Gateway | None = None
        self._phones: list[Phone] = []
        self._bots: list[Echo] = []
        self._registered = False
        self._ends: list[Callable[[], Awaitable[None]]] = []

    def on_end(self, end: Callable[[], Awaitable[None]]) -> None:
        """Done when the test ends, before the assistants and phones stop."""
        self._ends.append(end)

    async def phone(self, name: str, *, known: bool = True) -> Phone:
        """A person; on the roster unless said otherwise."""
        user = self.server.register(f"{name}_{self.tag}")
        phone = await new_phone(self.server, user, self.folder / name)
        self._phones.append(phone)
        if known:
            self.roster.add(user)
        return phone

    async def log_bot_in(self) -> Answers:
        if not self._registered:
            self.server.register(f"bot_{self.tag}")
            self._registered = True
        url = self.gateway.url if self.gateway else self.server.url
        console = Answers(url, self.bot_id, PASSWORD)
        await log_in(console, self.store)
        return console

    async def behind_gateway(self) -> Gateway:
        """From here on the assistant reaches the homeserver through a gateway that can fail."""
        self.gateway = await Gateway(self.server.url).start()
        return self.gateway

    async def bot(self, **options: Any) -> Echo:
        """The assistant, started; logged in at the first call, restarted with what it kept at later ones."""
        if not (self.store / "account.json").exists():
            await self.log_bot_in()
        bot = Echo(self.store, self.log, self.roster, **options).start()
        self._bots.append(bot)
        return bot

    async def room(self, phone: Phone, *others: Phone, encrypted: bool = False, **options: Any) -> str:
        """A room of these people with the assistant in it."""
        guests = [self.bot_id, *(other.id for other in others)]
        room = await phone.create(*guests, encrypted=encrypted, **options)
        for other in others:
            await other.until(lambda other=other: room in other.client.invited_rooms)
            await other.client.join(room)
            await other.until(lambda other=other: room in other.client.rooms)
            await phone.joined_by(room, other.id)
        await phone.joined_by(room, self.bot_id)
        return room

    async def end(self) -> None:
        for end in self._ends:
            await end()
        for bot in self._bots:
            await bot.stop()
        for phone in self._phones:
            await phone.client.close()
        if self.gateway:
            await self.gateway.stop()


@pytest_asyncio.fixture
async def world(homeserver: Homeserver, tmp_path: pathlib.Path) -> AsyncIterator[World]:
    made = World(homeserver, tmp_path)
    yield made
    await made.end()
