"""The assistant's identity: cross-signing keys, and our device signed with them.

Clients of today leave out devices that their owner has not signed (MSC4153): they neither read us nor send us keys.
matrix-nio has no cross-signing (nio #229, open since 2020), so this is done here, with the Ed25519 of pycryptodome.
Nobody's keys but our own are signed here.
"""

from __future__ import annotations

import base64
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import structlog
from Crypto.PublicKey import ECC
from Crypto.Signature import eddsa

from sitebot.channels.matrix.account import IDENTITY, write_secret
from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import at_path
from sitebot.channels.matrix.wire import call, raw_call, trouble
from sitebot.errors import Refused

USAGES = ("master", "self_signing", "user_signing")
KEYS = "/_matrix/client/v3/keys"
log = structlog.get_logger(__name__)


class SigningKey:
    """One Ed25519 key, from its seed."""

    def __init__(self, seed: bytes) -> None:
        self._key = ECC.construct(curve="Ed25519", seed=seed)
        self.public = unpadded(self._key.public_key().export_key(format="raw"))

    @property
    def name(self) -> str:
        return f"ed25519:{self.public}"

    def sign(self, signed: Mapping[str, Any]) -> str:
        """Signature over the canonical JSON, without what is signed or unsigned already."""
        bare = {key: value for key, value in signed.items() if key not in ("signatures", "unsigned")}
        return unpadded(eddsa.new(self._key, "rfc8032").sign(canonical(bare).encode()))


def unpadded(data: bytes | bytearray) -> str:
    return base64.b64encode(data).decode().rstrip("=")


def canonical(value: Any) -> str:
    """Canonical JSON of the specification: sorted keys, no spaces, UTF-8."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def identity(store: Path) -> dict[str, SigningKey]:
    """The three keys of this store, made once."""
    file = store / IDENTITY
    if not file.exists():
        write_secret(file, {usage: unpadded(os.urandom(32)) for usage in USAGES})
    seeds = json.loads(file.read_text(encoding="utf-8"))
    return {usage: SigningKey(base64.b64decode(seeds[usage] + "=")) for usage in USAGES}


async def ensure_cross_signed(client: BotClient, store: Path, password: str = "", *, reset: bool = False) -> bool:
    """Publish the identity and sign our device, whatever of it is missing. True if anything had to be done.

    Refused where the account already has another identity: replacing it frightens every crew that has verified it, so
    only ``reset`` does it.
    """
    keys = identity(store)
    found = await call(client, "POST", f"{KEYS}/query", {"device_keys": {client.user_id: []}})
    published = at_path(found, "master_keys", client.user_id, "keys")
    if published and keys["master"].name not in published and not reset:
        raise Refused(
            f"{client.user_id} already has a cross-signing identity that is not in {store}. "
            "Restore identity.json from the backup, or run: sitebot matrix login --reset-identity"
        )
    fresh = not published or keys["master"].name not in published
    if fresh:
        await _publish(client, keys, password)
    return await _sign_device(client, keys["self_signing"], found) or fresh


async def _publish(client: BotClient, keys: Mapping[str, SigningKey], password: str) -> None:
    """Upload the public keys; a server may want the password for it."""
    body: dict[str, Any] = {f"{usage}_key": public_part(client.user_id, usage, keys) for usage in USAGES}
    master = body["master_key"]
    master["signatures"] = {client.user_id: {f"ed25519:{client.device_id}": client.olm.sign_json(dict(master))}}
    path = f"{KEYS}/device_signing/upload"
    status, answer = await raw_call(client, "POST", path, body)
    if status == 401 and password:
        body["auth"] = {
            "type": "m.login.password",
            "identifier": {"type": "m.id.user", "user": client.user_id},
            "password": password,
            "session": answer.get("session"),
        }
        status, answer = await raw_call(client, "POST", path, body)
    if status == 401:
        raise Refused("The homeserver wants the password to publish the identity. Run: sitebot matrix login")
    if status != 200:
        raise trouble(status, answer.get("errcode"), str(answer.get("error", "")))
    log.info("identity published", user=client.user_id)


def public_part(user: str, usage: str, keys: Mapping[str, SigningKey]) -> dict[str, Any]:
    """The public part of one key; the two lower ones are signed by the master key."""
    part: dict[str, Any] = {"user_id": user, "usage": [usage], "keys": {keys[usage].name: keys[usage].public}}
    if usage != "master":
        part["signatures"] = {user: {keys["master"].name: keys["master"].sign(part)}}
    return part


async def _sign_device(client: BotClient, key: SigningKey, found: Mapping[str, Any]) -> bool:
    """Sign our device as its owner."""
    device = at_path(found, "device_keys", client.user_id, client.device_id)
    if not isinstance(device, dict):
        raise Refused(f"The homeserver does not know the keys of our device {client.device_id}")
    if key.name in (at_path(device, "signatures", client.user_id) or {}):
        return False
    signed = {name: value for name, value in device.items() if name != "unsigned"}
    signed["signatures"] = {client.user_id: {key.name: key.sign(device)}}
    body = {client.user_id: {client.device_id: signed}}
    answer = await call(client, "POST", f"{KEYS}/signatures/upload", body)
    if answer.get("failures"):
        raise Refused(f"The homeserver did not take the signature of our device: {answer['failures']}")
    log.info("device signed", device=client.device_id)
    return True
