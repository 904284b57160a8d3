"""``sitebot matrix login``: asks for the account, makes a device of this store and says what comes next.

A login always makes a new device: the homeserver remembers the keys of a lost one, and it would stay deaf under its old
id. What is asked and shown goes through ``Console``; no terminal is touched here.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any, Protocol

import nio

from sitebot.channels.matrix.account import ACCOUNT, Account, hold, save
from sitebot.channels.matrix.client import open_client
from sitebot.channels.matrix.cross_signing import ensure_cross_signed
from sitebot.channels.matrix.events import at_path, text_at
from sitebot.channels.matrix.wire import asked, call
from sitebot.errors import ChannelError, DataError, LoggedOut, Refused, Unreachable

DEVICE_NAME = "sitebot"


class Console(Protocol):
    """Where the questions are asked."""

    def ask(self, question: str) -> str: ...
    def ask_secret(self, question: str) -> str: ...
    def tell(self, line: str) -> None: ...


async def log_in(console: Console, store: Path, *, reset_identity: bool = False) -> None:
    """The whole conversation. Raises our errors in plain words; nothing is written unless the login is good."""
    server = address(console.ask("Homeserver (https://matrix.example.org or example.org):"))
    with hold(store):
        server = await discovered(server)
        user = console.ask("User (@sitebot:example.org):").strip()
        secret = console.ask_secret("Password (or an access token, beginning with syt_ or mct_):")
        is_token = secret.startswith(("syt_", "mct_"))
        account = await (by_token(server, secret) if is_token else by_password(server, user, secret))
        await furnish(account, store, "" if is_token else secret, reset_identity, console)


def address(typed: str) -> str:
    """The homeserver's address as a URL."""
    typed = typed.strip().rstrip("/")
    if not typed:
        raise DataError("No homeserver was given. An example: https://matrix.example.org")
    return typed if typed.startswith(("http://", "https://")) else f"https://{typed}"


async def discovered(server: str) -> str:
    """The address behind a domain (.well-known), and proof that a homeserver answers there."""

    async def look(client: Any) -> str:
        try:
            known = await call(client, "GET", "/.well-known/matrix/client")
        except ChannelError:
            known = {}
        return text_at(known, "m.homeserver", "base_url").rstrip("/") or server

    async def greet(client: Any) -> Any:
        return await call(client, "GET", "/_matrix/client/versions")

    found = str(await with_client(server, look))
    try:
        await with_client(found, greet)
    except ChannelError as error:
        raise Unreachable(f"No homeserver answers at {found}. Is the address right, and is it up? ({error})") from error
    return found


async def with_client(server: str, use: Callable[[Any], Awaitable[Any]]) -> Any:
    """Use a client that has no account yet."""
    config = nio.AsyncClientConfig(max_timeouts=0, max_limit_exceeded=0, request_timeout=15, encryption_enabled=False)
    client = nio.AsyncClient(server, config=config)
    try:
        return await use(client)
    finally:
        await client.close()


async def by_password(server: str, user: str, password: str) -> Account:
    """A new device, by password."""

    async def use(client: Any) -> Account:
        body = {
            "type": "m.login.password",
            "identifier": {"type": "m.id.user", "user": user},
            "password": password,
            "initial_device_display_name": DEVICE_NAME,
        }
        try:
            answer = await call(client, "POST", "/_matrix/client/v3/login", body)
        except Refused as error:
            raise Refused(f"The homeserver did not let {user} in. Check user and password. ({error})") from error
        return new_account(
            server, text_at(answer, "user_id"), text_at(answer, "device_id"), text_at(answer, "access_token")
        )

    account: Account = await with_client(server, use)
    return account


async def by_token(server: str, token: str) -> Account:
    """The device of a token, if nothing has used it for encryption yet."""

    async def use(client: Any) -> Account:
        client.access_token = token
        try:
            who = await call(client, "GET", "/_matrix/client/v3/account/whoami")
        except LoggedOut as error:
            raise Refused("The homeserver does not know this token.") from error
        user, device = text_at(who, "user_id"), text_at(who, "device_id")
        found = await call(client, "POST", "/_matrix/client/v3/keys/query", {"device_keys": {user: []}})
        if not device or at_path(found, "device_keys", user, device):
            raise Refused(
                "This token belongs to a device that another program has used: its keys are not here, so it could read "
                "nothing. Log in with the password instead, or with a token of a fresh login."
            )
        return new_account(server, user, device, token)

    account: Account = await with_client(server, use)
    return account


def new_account(server: str, user: str, device: str, token: str) -> Account:
    return Account(homeserver=server, user=user, device=device, token=token, passphrase=secrets.token_urlsafe(32))


async def furnish(account: Account, store: Path, password: str, reset: bool, console: Console) -> None:
    """Key store, keys on the server, identity; then the account file, which makes it count; then the old device."""
    before = previous(store)
    client = open_client(account, store)
    try:
        await asked(client.keys_upload(), nio.KeysUploadResponse)
        try:
            await ensure_cross_signed(client, store, password, reset=reset)
            trust = "The device is signed: clients that talk to signed devices only will talk to it."
        except Refused as error:
            trust = f"ATTENTION, the device is not signed, and some clients will not talk to it: {error}"
    finally:
        await client.close()
    save(account, store)
    if before:
        await retire(before)
    for line in (
        f"Logged in as {account.user} on {account.homeserver}, device {account.device}.",
        trust,
        f"Account and keys are in {store}: back it up together with the database, and keep it secret.",
        "Next: put people's Matrix addresses into the site file, start with: sitebot run",
        f"Then invite {account.user} to a direct or crew room from an account on the roster.",
    ):
        console.tell(line)


def previous(store: Path) -> Account | None:
    """The account this login replaces."""
    try:
        return Account.model_validate_json((store / ACCOUNT).read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return None


async def retire(account: Account) -> None:
    """Log the old device out, so that nobody goes on encrypting for it."""

    async def use(client: Any) -> None:
        client.access_token = account.token
        await call(client, "POST", "/_matrix/client/v3/logout", {})

    try:
        await with_client(account.homeserver, use)
    except ChannelError:
        return  # it was gone already
