"""A gateway before the homeserver, which can fail as gateways do. No test lives here."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import aiohttp
from aiohttp import web

Answer = Callable[[], web.StreamResponse]


def page(status: int) -> web.Response:
    """An error page, as a gateway gives it."""
    return web.Response(status=status, text="<html>Bad Gateway</html>", content_type="text/html")


def slow_down(milliseconds: int) -> web.Response:
    body = {"errcode": "M_LIMIT_EXCEEDED", "error": "Too fast", "retry_after_ms": milliseconds}
    return web.json_response(body, status=429)


def cut_short() -> web.Response:
    """A body that ends in the middle."""
    return web.Response(body=b'{"next_batch": "s', content_type="application/json")


@dataclass
class Fault:
    """The next ``times`` requests whose method and path match are answered so instead."""

    match: str
    answer: Answer
    times: int = 1
    #: Let the homeserver do it all the same, and lose only its answer.
    behind: bool = False


@dataclass
class Change:
    """Answers to matching requests go through ``change``, JSON to JSON."""

    match: str
    change: Callable[[Any], Any]


@dataclass
class Gateway:
    """Hands on to the homeserver what no fault takes."""

    target: str
    faults: list[Fault] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    #: Every request: method and path.
    log: list[str] = field(default_factory=list)
    url: str = ""

    async def start(self) -> Gateway:
        self._session = aiohttp.ClientSession(auto_decompress=False)
        app = web.Application(client_max_size=2**26)
        app.router.add_route("*", "/{path:.*}", self._handle)
        self._runner = web.AppRunner(app, handler_cancellation=True, shutdown_timeout=0.1)
        await self._runner.setup()
        site = web.TCPSite(self._runner, "127.0.0.1", 0)
        await site.start()
        self.url = f"http://127.0.0.1:{self._runner.addresses[0][1]}"
        return self

    async def stop(self) -> None:
        await self._session.close()
        await self._runner.cleanup()

    def fail(self, match: str, answer: Answer, times: int = 1, *, behind: bool = False) -> None:
        self.faults.append(Fault(match, answer, times, behind))

    def count(self, match: str) -> int:
        return sum(bool(re.search(match, line)) for line in self.log)

    async def _handle(self, request: web.Request) -> web.StreamResponse:
        line = f"{request.method} {request.raw_path}"
        self.log.append(line)
        if ".well-known" in line:  # it would name the homeserver itself
            return page(404)
        fault = next((f for f in self.faults if f.times and re.search(f.match, line)), None)
        if fault:
            fault.times -= 1
            if fault.behind:
                await self._pass_on(request)
            return fault.answer()
        return await self._pass_on(request)

    async def _pass_on(self, request: web.Request) -> web.Response:
        skipped = ("host", "content-length", "transfer-encoding", "connection")
        headers = {k: v for k, v in request.headers.items() if k.lower() not in skipped}
        async with self._session.request(
            request.method, self.target + request.raw_path, headers=headers, data=await request.read()
        ) as answer:
            kept = {k: v for k, v in answer.headers.items() if k.lower() not in (*skipped, "content-encoding")}
            body = await answer.read()
            for one in self.changes:
                if re.search(one.match, f"{request.method} {request.raw_path}"):
                    body = json.dumps(one.change(json.loads(body))).encode()
            return web.Response(status=answer.status, headers=kept, body=body)
