"""The webhook line: a provider posts texts and statuses to us and takes ours by HTTP. No provider's own library.

What differs between providers (names of fields, signature, addresses, words) is settings; see WebhookSettings.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import time
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qsl, urlsplit

import structlog

from sitebot.channels.sms import signature
from sitebot.channels.sms.line import Accepted, Counter, Heard, Letter, OptedOut, Receipt, Step
from sitebot.channels.sms.settings import WebhookSettings
from sitebot.errors import DataError, LoggedOut, Refused, Unreachable
from sitebot.message import Media

if TYPE_CHECKING:
    from aiohttp import ClientResponse, ClientSession, web

#: Texts are small; pictures come as addresses.
MOST_BODY_BYTES = 64 * 1024
MOST_PICTURES = 5
#: 408, 425, 429 and all of 5xx may pass later; every other refusal is for good.
PASSING = {408, 425, 429}
log = structlog.get_logger(__name__)


class Webhook:
    """One provider."""

    name = "webhook"

    def __init__(self, settings: WebhookSettings, own: str) -> None:
        try:
            import aiohttp
        except ImportError as error:
            raise DataError("The webhook line needs aiohttp: pip install 'sitebot[sms]'.") from error
        self._library, self._settings, self._own = aiohttp, settings, own
        self._counter: Counter | None = None
        self._session: ClientSession | None = None
        #: Where it listens, once it does; the port may have been chosen by the system.
        self.port = 0

    async def hear(self, counter: Counter) -> None:
        """Serve the provider's posts until cancelled."""
        from aiohttp import web

        self._counter, s = counter, self._settings
        app = web.Application(client_max_size=MOST_BODY_BYTES)
        app.router.add_post(s.heard_path, self._on_heard)
        app.router.add_post(s.status_path, self._on_status)
        runner = web.AppRunner(app, access_log=None)
        await runner.setup()
        try:
            site = web.TCPSite(runner, s.listen_host, s.listen_port)
            await site.start()
            self.port = runner.addresses[0][1]
            await asyncio.Event().wait()
        except OSError as error:
            raise Unreachable(f"cannot listen on {s.listen_host}:{s.listen_port}: {error}") from error
        finally:
            await runner.cleanup()
            if self._session:
                await self._session.close()
                self._session = None

    # --- in ---------------------------------------------------------------------------------------------------------

    async def _on_heard(self, request: web.Request) -> web.Response:
        """Commit, then 204; nothing is said in the body. A commit that fails gives 500, and the post comes again."""
        from aiohttp import web

        fields, names = await self._read(request), self._settings.heard
        ident, sender = _find(fields, names.id), _find(fields, names.sender)
        if not ident or not sender:
            raise web.HTTPBadRequest(text="id or sender missing")
        heard = Heard(
            # Some are long; the inbox has room for 255 characters.
            id=str(ident) if len(str(ident)) <= 100 else hashlib.sha256(str(ident).encode()).hexdigest(),
            sender=str(sender),
            text=str(_find(fields, names.text) or ""),
            at=_moment(_find(fields, names.at)),
            media=await self._media(_find(fields, names.media)),
        )
        assert self._counter is not None
        await self._counter.take([heard])
        return web.Response(status=204)

    async def _on_status(self, request: web.Request) -> web.Response:
        """What became of a message; repeated and out of order, as statuses come."""
        from aiohttp import web

        fields, names, s = await self._read(request), self._settings.heard, self._settings
        word = str(_find(fields, names.status) or "").lower()
        steps = {**dict.fromkeys(s.accepted, Step.SENT), **dict.fromkeys(s.delivered, Step.DELIVERED)}
        steps |= dict.fromkeys(s.failed, Step.FAILED)
        ident, code = str(_find(fields, names.id) or ""), str(_find(fields, names.error) or "")
        if word in steps and ident and self._counter is not None:
            await self._counter.note([Receipt(steps[word], id=ident, detail=f"{word} {code}".strip())])
        return web.Response(status=204)

    async def _read(self, request: web.Request) -> dict[str, Any]:
        """The fields of a post whose signature holds; 403 for all others."""
        from aiohttp import web

        body = await request.read()
        try:
            text = body.decode()
        except UnicodeDecodeError:
            raise web.HTTPBadRequest(text="not UTF-8") from None
        is_form = request.content_type == "application/x-www-form-urlencoded"
        form = parse_qsl(text, keep_blank_values=True) if is_form else []
        if not self._is_signed(request, body, form):
            log.warning("refused: signature", path=request.path)
            raise web.HTTPForbidden(text="signature")
        if is_form:
            return _by_name(form)
        try:
            fields = json.loads(text)
        except ValueError:
            raise web.HTTPBadRequest(text="not JSON") from None
        return fields if isinstance(fields, dict) else {"": fields}

    def _is_signed(self, request: web.Request, body: bytes, form: list[tuple[str, str]]) -> bool:
        s = self._settings
        given = request.headers.get(s.signature_header, "")
        secrets = [secret.get_secret_value().encode() for secret in s.secrets]
        if s.signature == "timestamp-body":
            stamp = request.headers.get(s.timestamp_header, "")
            fresh = signature.is_fresh(stamp, time.time(), s.skew_s)
            return fresh and any(signature.matches(given, signature.of_body(k, stamp, body)) for k in secrets)
        url = s.public_url + request.path_qs
        return any(signature.matches(given, signature.of_form(k, url, form)) for k in secrets)

    # --- pictures ---------------------------------------------------------------------------------------------------

    async def _media(self, listed: Any) -> tuple[Media, ...]:
        """Pictures of a message, from the provider's own hosts only; one that fails comes without its bytes."""
        urls = [u if isinstance(u, str) else str(_find(u, "url") or "") for u in _as_list(listed)]
        found = [await self._fetch(url) for url in urls[:MOST_PICTURES]]
        return tuple(m for m in found if m)

    async def _fetch(self, url: str) -> Media | None:
        address = urlsplit(url)
        if address.scheme not in ("https", "http") or address.hostname not in self._settings.media_hosts:
            log.warning("picture left out: not the provider's host", host=address.hostname)
            return None
        if address.scheme == "http" and address.hostname not in ("127.0.0.1", "localhost"):
            return None
        name = address.path.rsplit("/", 1)[-1] or "picture"
        try:
            async with self._http().get(url, headers=self._headers(), allow_redirects=False) as response:
                data = await _at_most(response, self._settings.most_media_bytes)
                if response.status == 200 and not response.content_type.startswith("image/"):
                    return None  # the frame of a multimedia message, its words, a card
                if response.status != 200 or data is None:
                    log.warning("picture lost", status=response.status, kind=response.content_type)
                    return Media(name, response.content_type, b"")
                return Media(name, response.content_type, data)
        except (self._library.ClientError, TimeoutError) as error:
            log.warning("picture lost", reason=str(error))
            return Media(name, "image/*", b"")

    # --- out --------------------------------------------------------------------------------------------------------

    async def send(self, letter: Letter, accepted: Accepted) -> None:
        """One request with the whole text; the reference is the idempotency key, so a repeat is the same message."""
        fields = self._fields(letter)
        body: dict[str, Any] = {"data": fields} if self._settings.send_form else {"json": fields}
        headers = {**self._headers(), self._settings.idempotency_header: letter.ref}
        try:
            async with self._http().post(self._settings.send_url, headers=headers, **body) as response:
                text = await response.text()
                answer = _as_json(text)
                self._judge(response.status, response.headers.get("Retry-After", ""), answer, text)
        except (self._library.ClientError, TimeoutError) as error:
            raise Unreachable(f"the provider: {error or 'no answer'}") from error
        ident = str(_find(answer, self._settings.sent.id) or letter.ref)
        for place in range(len(letter.parts)):
            await accepted(place, ident, Step.SENT)

    def _judge(self, status: int, retry_after: str, answer: Any, text: str) -> None:
        if status < 300:
            return
        code = str(_find(answer, self._settings.sent.error) or "")
        if code and code in self._settings.opted_out:
            raise OptedOut(f"the provider: the number has opted out ({code})")
        if status in PASSING or status >= 500:
            raise Unreachable(f"the provider: {status}{', again after ' + retry_after if retry_after else ''}")
        if status in (401, 403):
            raise LoggedOut(f"the provider refuses our authorization: {status}")
        raise Refused(f"the provider: {status} {text[:200]}")

    def _fields(self, letter: Letter) -> dict[str, str]:
        names = self._settings.sent
        values = {names.to: letter.to, names.text: letter.text, names.ref: letter.ref}
        if self._own:
            values[names.sender] = self._own
        return {**{k: v for k, v in values.items() if k}, **self._settings.send_fields}

    def _headers(self) -> dict[str, str]:
        return {name: value.get_secret_value() for name, value in self._settings.send_headers.items()}

    def _http(self) -> ClientSession:
        if self._session is None:
            timeout = self._library.ClientTimeout(total=self._settings.timeout_s)
            self._session = self._library.ClientSession(timeout=timeout)
        return self._session


def _find(fields: Any, path: str) -> Any:
    """A field by its name, by steps into objects and lists ("data.0.from"), or all that are numbered ("picture*")."""
    if isinstance(fields, Mapping) and path in fields:
        return fields[path]
    if isinstance(fields, Mapping) and path.endswith("*"):
        numbered = (fields.get(f"{path[:-1]}{n}") for n in range(MOST_PICTURES + 1))
        return [value for value in numbered if value]
    for step in path.split("."):
        if isinstance(fields, Mapping):
            fields = fields.get(step)
        elif isinstance(fields, list) and step.isdecimal() and int(step) < len(fields):
            fields = fields[int(step)]
        else:
            return None
    return fields


def _by_name(form: list[tuple[str, str]]) -> dict[str, Any]:
    """The fields of a form; one that is given several times is a list."""
    fields: dict[str, Any] = {}
    for name, value in form:
        fields[name] = [*_as_list(fields[name]), value] if name in fields else value
    return fields


def _as_list(value: Any) -> list[Any]:
    if value in (None, ""):
        return []
    return value if isinstance(value, list) else [value]


def _as_json(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return {}


def _moment(value: Any) -> datetime | None:
    """Seconds or milliseconds since 1970, or ISO text with its zone."""
    try:
        seconds = float(value)
        return datetime.fromtimestamp(seconds / 1000 if seconds > 1e11 else seconds, UTC)
    except (TypeError, ValueError, OverflowError, OSError):
        pass
    try:
        moment = datetime.fromisoformat(str(value))
    except ValueError:
        return None
    return moment if moment.tzinfo else None


async def _at_most(response: ClientResponse, size: int) -> bytes | None:
    data = bytearray()
    async for chunk in response.content.iter_chunked(65536):
        data += chunk
        if len(data) > size:
            return None
    return bytes(data)
