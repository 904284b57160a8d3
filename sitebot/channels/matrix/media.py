"""Photos in and pictures out, byte for byte, encrypted in encrypted rooms. No message is made or read here."""

from __future__ import annotations

import asyncio
import io
import re
from typing import Any

import nio
from nio.crypto.attachments import decrypt_attachment, encrypt_attachment
from nio.exceptions import EncryptionError

from sitebot.channels.matrix.client import BotClient
from sitebot.channels.matrix.events import text_at
from sitebot.channels.matrix.reading import Attachment
from sitebot.channels.matrix.wire import asked
from sitebot.errors import Refused
from sitebot.message import Media

#: The parts of the address go into a path on our homeserver: nothing else may stand in them.
ADDRESS = re.compile(r"mxc://[A-Za-z0-9.:\-\[\]]{1,255}/[A-Za-z0-9_\-]{1,255}")


async def fetch(client: BotClient, attached: Attachment) -> Media:
    """The bytes of a photo. Refused: it is gone, or it was tampered with."""
    if not ADDRESS.fullmatch(attached.where):
        raise Refused("A photo without an address")
    answer = await asked(client.download(mxc=attached.where), nio.MemoryDownloadResponse)
    data = answer.body
    if attached.secret:
        # In a thread: 49 MB take 64 ms of one core.
        data = await asyncio.to_thread(decrypted, data, attached.secret)
    return Media(attached.name, attached.mime, data)


def decrypted(data: bytes, secret: dict[str, Any]) -> bytes:
    """The bytes of an encrypted attachment; its hash is checked before anything is decrypted."""
    key, digest, start = text_at(secret, "key", "k"), text_at(secret, "hashes", "sha256"), text_at(secret, "iv")
    try:
        return bytes(decrypt_attachment(data, key, digest, start))
    except (EncryptionError, ValueError) as error:
        raise Refused(f"A photo that does not decrypt ({type(error).__name__})") from error


async def put(client: BotClient, media: Media, *, encrypt: bool) -> dict[str, Any]:
    """Upload a picture; the part of the event's content that says where it lies."""
    limit = (await asked(client.content_repository_config(), nio.ContentRepositoryConfigResponse)).upload_size
    if limit and len(media.data) > limit:
        # Synapse cuts the connection at too large a body; the library takes that for a bad line and tries for ever.
        raise Refused(f"The homeserver takes files up to {limit} bytes; {media.name} has {len(media.data)}")
    if not encrypt:
        return {"url": await _uploaded(client, media.data, media.mime, media.name)}
    # The library's own encrypting upload learns the key only after the last byte was sent; a server that answers
    # sooner leaves the photo without its key, and the request may hang.
    sealed, secret = await asyncio.to_thread(encrypt_attachment, media.data)
    return {"file": {"url": await _uploaded(client, sealed, "application/octet-stream", None), **secret}}


async def _uploaded(client: BotClient, data: bytes, mime: str, name: str | None) -> str:
    """The address of the bytes on the homeserver."""

    async def request() -> Any:
        answer, _ = await client.upload(io.BytesIO(data), content_type=mime, filename=name, filesize=len(data))
        return answer

    return str((await asked(request(), nio.UploadResponse)).content_uri)
