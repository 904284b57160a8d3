"""Asking the homeserver: every answer is what was wanted or one of our own errors; and waiting between attempts.

Everything the library can answer or raise ends here. No event is read here.
"""

from __future__ import annotations

import asyncio
import json
import random
from collections.abc import Awaitable, Callable
from typing import Any, TypeVar

import aiohttp
import nio
import structlog

from sitebot.errors import ChannelError, LoggedOut, Refused, Unreachable

T = TypeVar("T")
Pause = Callable[[float], Awaitable[None]]
log = structlog.get_logger(__name__)

#: The account is gone for this token: waiting does not bring it back.
GONE = frozenset({"M_UNKNOWN_TOKEN", "M_MISSING_TOKEN", "M_USER_DEACTIVATED", "M_USER_LOCKED"})
#: Our own code for an answer that is none of Matrix (client.py gives it): a gateway speaks, try again.
NOT_A_HOMESERVER = "SITEBOT_NOT_A_HOMESERVER"
#: A request by hand, its answer's body included.
LONGEST_CALL_S = 60
FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 60.0


class Throttled(Unreachable):
    """The homeserver asks us to wait."""

    def __init__(self, seconds: float) -> None:
        super().__init__(f"The homeserver asks to wait {seconds:.1f} s")
        self.seconds = seconds


async def asked(request: Awaitable[Any], wanted: type[T]) -> T:
    """What the homeserver answered, or one of our errors; nothing else comes out of this."""
    try:
        answer = await request
    except (aiohttp.ClientError, OSError) as error:
        raise Unreachable(f"The homeserver does not answer ({type(error).__name__})") from error
    except ChannelError:
        raise
    except Exception as error:  # a gateway's page, a cut body: the library raises whatever its parser raises
        log.warning("homeserver answered nonsense", error=repr(error))
        raise Unreachable(f"The homeserver answered nonsense ({type(error).__name__})") from error
    if isinstance(answer, wanted):
        return answer
    raise fault(answer)


def fault(answer: Any) -> ChannelError:
    """The error an answer stands for. Without an error code of Matrix it is a gateway speaking: try again."""
    transport = getattr(answer, "transport_response", None)
    code = answer.status_code if isinstance(answer, nio.ErrorResponse) else None
    return trouble(getattr(transport, "status", 0), code, answer.message, getattr(answer, "retry_after_ms", None))


def trouble(status: int, code: str | None, message: str, retry_after_ms: int | None = None) -> ChannelError:
    """The error of ours for a status and an error code of Matrix."""
    if code in GONE:
        return LoggedOut(f"The homeserver no longer knows our login ({code}: {message}). Run: sitebot matrix login")
    if status == 429 or code == "M_LIMIT_EXCEEDED":
        return Throttled((retry_after_ms or 5000) / 1000)
    if code and code != NOT_A_HOMESERVER and 400 <= status < 500:
        return Refused(f"The homeserver refused: {code} {message}")
    return Unreachable(f"The homeserver is in trouble (status {status}, {code or 'no error code'})")


async def call(client: Any, method: str, path: str, body: dict[str, Any] | None = None) -> dict[str, Any]:
    """One request for what the library has no function for; the answer's JSON, or one of our errors."""
    status, answer = await raw_call(client, method, path, body)
    if status == 200:
        return answer
    raise trouble(status, answer.get("errcode"), str(answer.get("error", "")), answer.get("retry_after_ms"))


async def raw_call(client: Any, method: str, path: str, body: dict[str, Any] | None) -> tuple[int, dict[str, Any]]:
    """Status and JSON, also of a refusal (a 401 may carry the next step of a login)."""
    headers = {"Content-Type": "application/json"}
    if client.access_token:
        headers["Authorization"] = f"Bearer {client.access_token}"
    try:
        async with asyncio.timeout(LONGEST_CALL_S):
            response = await client.send(method, path, json.dumps(body) if body is not None else None, headers)
            answer = await response.json(content_type=None)
    except (aiohttp.ClientError, OSError, ValueError) as error:
        raise Unreachable(f"The homeserver does not answer ({type(error).__name__})") from error
    return response.status, answer if isinstance(answer, dict) else {}


class Patience:
    """Ever longer waits between attempts, shared by all that one loop asks for.

    The library's own loop asks again at once: 460 requests a second after a token is gone, 2,900 at a gateway's page.
    """

    def __init__(self, pause: Pause = asyncio.sleep) -> None:
        self._pause = pause
        self.failures = 0

    async def until(self, attempt: Callable[[], Awaitable[T]]) -> T:
        """The result of the first attempt that gets through. LoggedOut and Refused are not waited for."""
        while True:
            try:
                result = await attempt()
            except Unreachable as error:
                await self._wait(error)
            else:
                self.failures = 0
                return result

    async def _wait(self, error: Unreachable) -> None:
        longest = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** min(self.failures, 10))
        # Jitter: a hundred sites must not come back in the same second.
        wait = error.seconds if isinstance(error, Throttled) else longest * random.uniform(0.5, 1.0)  # noqa: S311
        self.failures += 1
        log.warning("waiting for the homeserver", seconds=round(wait, 1), failures=self.failures, why=str(error))
        await self._pause(wait)
