"""What a running assistant tells about itself: counters and gauges for Prometheus, and one word on its health.

Served on the loopback address alone, unless another is asked for in so many words. Never a text, a name, a number.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server
from wsgiref.types import StartResponse, WSGIEnvironment

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram
from prometheus_client.exposition import make_wsgi_app

from sitebot.journal import Load

#: Without a sign of life for so long [s], the loop hangs; the database may rest a little longer.
LOOP_SILENT = 15.0
DATABASE_SILENT = 45.0


class Metrics:
    """The figures of one process."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.registry = CollectorRegistry()
        self._clock = clock
        self._alive = self._database = clock()
        r = self.registry
        self.kept = Counter("sitebot_messages_kept", "Messages kept in the inbox", ["channel"], registry=r)
        self.answered = Counter("sitebot_messages_answered", "Messages answered", registry=r)
        self.failures = Counter("sitebot_failures", "Failures of ours while answering", registry=r)
        self.sent = Counter("sitebot_messages_sent", "Messages handed to a channel", ["channel"], registry=r)
        self.refused = Counter("sitebot_sends_failed", "Tries to send that failed", ["channel"], registry=r)
        self.seconds = Histogram("sitebot_answer_seconds", "From reading a message to its commit", registry=r)
        self.inbox = Gauge("sitebot_inbox", "Messages in the inbox that are not answered", ["state"], registry=r)
        self.outbox = Gauge("sitebot_outbox", "Messages that are not sent", ["state"], registry=r)
        self.oldest = Gauge("sitebot_outbox_oldest_seconds", "Age of the oldest message to be sent", registry=r)
        self.held = Gauge(
            "sitebot_channel_held", "1 where this process holds the channel's account", ["channel"], registry=r
        )

    def alive(self) -> None:
        """The loop goes round."""
        self._alive = self._clock()

    def loaded(self, load: Load, now: datetime | None = None) -> None:
        """The database answered, with this."""
        self._database = self._clock()
        for state, count in (("new", load.new), ("failed", load.failed), ("flood", load.flood)):
            self.inbox.labels(state).set(count)
        self.outbox.labels("queued").set(load.queued)
        self.outbox.labels("failed").set(load.not_sent)
        age = ((now or datetime.now(UTC)) - load.oldest).total_seconds() if load.oldest else 0
        self.oldest.set(max(age, 0))

    def health(self) -> str:
        """ "" when all is well, else what is wrong."""
        now = self._clock()
        if now - self._alive > LOOP_SILENT:
            return "the program hangs"
        if now - self._database > DATABASE_SILENT:
            return "the database cannot be used"
        return ""


def application(metrics: Metrics) -> Callable[[WSGIEnvironment, StartResponse], Iterable[bytes]]:
    """``/health`` and ``/metrics``; nothing else is there."""
    exposition = make_wsgi_app(metrics.registry)

    def answer(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        path = environ.get("PATH_INFO")
        if path == "/metrics":
            found: Iterable[bytes] = exposition(environ, start)
            return found
        fault = metrics.health() if path == "/health" else "not here"
        status = "404 Not Found" if path != "/health" else "503 Service Unavailable" if fault else "200 OK"
        start(status, [("Content-Type", "text/plain; charset=utf-8")])
        return [(fault or "well").encode() + b"\n"]

    return answer


class _Quiet(WSGIRequestHandler):
    """No access log: it would go past the structured one."""

    def log_message(self, format: str, *args: object) -> None:
        pass


def serve(metrics: Metrics, host: str, port: int) -> WSGIServer:
    """Answer in a thread of its own until ``shutdown`` is called; port 0 takes any free one."""
    server = make_server(host, port, application(metrics), handler_class=_Quiet)
    threading.Thread(target=server.serve_forever, name="metrics", daemon=True).start()
    return server
