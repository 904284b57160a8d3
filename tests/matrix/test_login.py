"""``sitebot matrix login``: what it asks, what it makes, and its words when something is not as it should be."""

from __future__ import annotations

import subprocess
import sys

import pytest

from sitebot.channels.matrix import log_in, login
from sitebot.channels.matrix.account import load
from sitebot.channels.matrix.login import address
from sitebot.errors import DataError, Refused, Unreachable
from tests.matrix.conftest import Answers
from tests.matrix.matrix_server import PASSWORD, free_port


async def test_a_login_by_password_makes_a_signed_device_and_says_what_comes_next(world):
    """User, device and the next steps are printed; password and token are not."""
    console = await world.log_bot_in()
    text, account = "\n".join(console.lines), load(world.store)
    assert (account.user, account.homeserver) == (world.bot_id, world.server.url)
    assert account.device in text
    assert "is signed" in text
    assert "sitebot run" in text
    assert account.token not in text
    assert console.answers == []
    assert is_signed(world)


def is_signed(world):
    """Whether the server has a signature of the account's identity on the device."""
    account = load(world.store)
    body = {"device_keys": {account.user: []}}
    found = world.server.request("POST", "/_matrix/client/v3/keys/query", body, account.token)[1]
    (signer,) = found.get("self_signing_keys", {}).get(account.user, {}).get("keys", {"nobody": ""})
    return signer in found["device_keys"][account.user][account.device]["signatures"][account.user]


async def test_a_device_left_unsigned_is_signed_at_the_next_start(world, monkeypatch):
    """When signing failed at login it is said, and the next start does it."""

    async def refused(*arguments, **options):
        raise Refused("not now")

    with monkeypatch.context() as patch:
        patch.setattr(login, "ensure_cross_signed", refused)
        console = await world.log_bot_in()
    assert any(line.startswith("ATTENTION") for line in console.lines)
    assert not is_signed(world)
    bot = await world.bot()
    await bot.until(lambda: "sync" in bot.ledger.state())
    assert is_signed(world)


async def test_a_login_by_token_of_a_fresh_device_works(world):
    """A token nobody has used for encryption is as good as a password."""
    server = world.server
    user = server.register(f"bot_{world.tag}")
    body = {"type": "m.login.password", "identifier": {"type": "m.id.user", "user": user}, "password": PASSWORD}
    _, session = server.request("POST", "/_matrix/client/v3/login", body)
    console = Answers(server.url, user, session["access_token"])
    await log_in(console, world.store)
    assert load(world.store).device == session["device_id"]


async def test_a_token_of_another_program_is_refused(world):
    """The keys of that device are elsewhere: the words say so, and nothing is written."""
    crew = await world.phone("crew")
    with pytest.raises(Refused, match="another program"):
        await log_in(Answers(world.server.url, crew.id, crew.client.access_token), world.store)
    assert not (world.store / "account.json").exists()


async def test_a_wrong_password_ends_in_words(world):
    """Who was not let in, and what to check; nothing is written."""
    user = world.server.register(f"bot_{world.tag}")
    with pytest.raises(Refused, match=f"{user}.*Check user and password"):
        await log_in(Answers(world.server.url, user, "wrong"), world.store)
    assert not (world.store / "account.json").exists()


async def test_a_homeserver_that_is_away_ends_in_words(world):
    """No traceback: which address did not answer, and what to look at."""
    url = f"http://127.0.0.1:{free_port()}"
    with pytest.raises(Unreachable, match=f"No homeserver answers at {url}"):
        await log_in(Answers(url, "@bot:hs.test", PASSWORD), world.store)


async def test_a_web_server_that_is_no_homeserver_ends_in_the_same_words(world):
    """An address with something else behind it is not taken for a homeserver."""
    gateway = await world.behind_gateway()
    gateway.target = gateway.url + "/nothing"
    gateway.fail(".", lambda: page_of_another_server(), times=9)
    with pytest.raises(Unreachable, match="No homeserver answers"):
        await log_in(Answers(gateway.url, "@bot:hs.test", PASSWORD), world.store)


def page_of_another_server():
    from tests.matrix.matrix_gateway import page

    return page(200)


async def test_a_reset_replaces_the_identity_when_asked_for(world):
    """With the reset the device is signed by the new identity; the password is given to the homeserver for it."""
    await world.log_bot_in()
    world.store = world.folder / "elsewhere"
    console = Answers(world.server.url, world.bot_id, PASSWORD)
    await log_in(console, world.store, reset_identity=True)
    assert any("is signed" in line for line in console.lines)


def test_an_address_is_completed():
    """A domain becomes a URL; nothing is no address."""
    assert address(" example.org/ ") == "https://example.org"
    assert address("http://127.0.0.1:8008") == "http://127.0.0.1:8008"
    with pytest.raises(DataError, match="No homeserver"):
        address(" ")


def test_without_its_libraries_the_channel_says_what_to_install():
    """The package loads without matrix-nio; opening the channel says which extra is missing."""
    program = (
        "import sys, pathlib; sys.modules['nio'] = None\n"
        "from sitebot.channels.matrix import open_channel\n"
        "from sitebot.errors import DataError\n"
        "try: open_channel(pathlib.Path('x'), {}, lambda address: False)\n"
        "except DataError as error: print(error)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert "pip install 'sitebot[matrix]'" in done.stdout
