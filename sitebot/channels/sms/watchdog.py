"""Runs gammu-smsd, and starts it anew when it ends or lives no longer.

``python -m sitebot.channels.sms.watchdog FILE``, FILE being its configuration.

A modem that swallows one answer wedges the daemon for ever: nothing goes in or out, and it ignores SIGTERM. All that
shows is that its row in table ``phones`` is not touched any more. A modem that was unplugged and comes back leaves it
writing to the device that is gone, with its heartbeat as ever: that shows in its log only. Messages are none of this
module's business.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from types import FrameType

import sqlalchemy as sa
import structlog

from sitebot.channels.sms import smsd
from sitebot.errors import DataError

#: Heartbeats that may be missed.
MISSED_BEATS = 6
#: A modem takes its time to start; shorter limits would never let it.
LEAST_LIMIT_S = 20.0
#: Between starts [s]; the last again and again.
PAUSES_S = (0.5, 2.0, 10.0, 30.0)
#: SIGTERM is obeyed within a second, or not at all.
PATIENCE_S = 5.0
#: The daemon's times are those of its zone, and without UTC its SQLite queue stands still west of Greenwich.
ENVIRONMENT = {"TZ": "UTC", "LC_ALL": "C.UTF-8"}
log = structlog.get_logger(__name__)


class Pulse:
    """Says whether a beat still changes. The clock is ours and runs evenly; the database's zone does not matter."""

    def __init__(self, limit_s: float, now: float) -> None:
        self._limit_s, self._last, self._changed = limit_s, "", now

    def is_gone(self, beat: str | None, now: float) -> bool:
        """``beat``: the value as read now; None where it could not be read, which is no fault of the daemon."""
        if beat is None or beat != self._last:
            self._last, self._changed = beat or self._last, now
        return now - self._changed > self._limit_s


class Complaints:
    """Says whether the daemon has complained of its modem without a pause."""

    #: What 1.42 writes at each look at a modem that does not answer, at every debuglevel.
    WORDS = b"Error getting SMS status"
    #: So long without a complaint, and the next one begins anew [s].
    PAUSE_S = 10.0

    def __init__(self, log: Path | None, limit_s: float) -> None:
        self._log, self._limit_s = log, limit_s
        self._read = self._size()
        self._since: float | None = None
        self._last = 0.0

    def is_stuck(self, now: float) -> bool:
        if self.WORDS in self._fresh():
            self._since = now if self._since is None else self._since
            self._last = now
        elif now - self._last > self.PAUSE_S:
            self._since = None
        return self._since is not None and self._last - self._since > self._limit_s

    def _size(self) -> int:
        return self._log.stat().st_size if self._log and self._log.exists() else 0

    def _fresh(self) -> bytes:
        """What was written since the last look; a log that was rotated is read from its beginning."""
        size = self._size()
        if self._log is None or size == self._read:
            return b""
        with self._log.open("rb") as log:
            log.seek(self._read if size > self._read else 0)
            self._read = size
            return log.read(1_000_000)


class Watchdog:
    """One daemon under watch."""

    def __init__(self, smsdrc: Path, limit_s: float | None = None, command: Sequence[str] = ("gammu-smsd",)) -> None:
        config = smsd.read_smsdrc(smsdrc)
        if config.status_s <= 0:
            raise DataError(f"{smsdrc}: smsd.statusfrequency is 0, so its life cannot be seen. Write 10.")
        self._engine, self._phone, self._log = smsd.open_engine(config.url), config.phone, config.log
        self._command = [*command, "-c", str(smsdrc)]
        self._limit_s = limit_s or max(LEAST_LIMIT_S, float(MISSED_BEATS * config.status_s))
        self._check_s = min(1.0, self._limit_s / 10)
        self._stop = threading.Event()
        self.starts = self.kills = 0
        self.process: subprocess.Popen[bytes] | None = None

    def run(self) -> None:
        """Keep the daemon running until ``stop``."""
        failures = 0
        while not self._stop.is_set():
            began = time.monotonic()
            self._start()
            self._watch()
            self._end()
            failures = 0 if time.monotonic() - began > 2 * self._limit_s else failures + 1
            self._stop.wait(PAUSES_S[min(failures, len(PAUSES_S) - 1)])

    def stop(self) -> None:
        self._stop.set()

    def _start(self) -> None:
        self.starts += 1
        try:
            smsd.release(self._engine, self._phone)
        except sa.exc.DBAPIError as error:
            log.warning("the outbox cannot be unlocked", reason=str(error.orig))
        self.process = subprocess.Popen(self._command, env=os.environ | ENVIRONMENT)  # noqa: S603
        log.info("gammu-smsd started", pid=self.process.pid)

    def _watch(self) -> None:
        """Returns when it has ended, when it lives no longer, or when we stop."""
        assert self.process is not None
        pulse, complaints = Pulse(self._limit_s, time.monotonic()), Complaints(self._log, self._limit_s)
        while not self._stop.wait(self._check_s):
            if self.process.poll() is not None:
                log.warning("gammu-smsd ended", code=self.process.returncode)
                return
            now = time.monotonic()
            # Both are asked each time: each remembers its last look.
            gone, stuck = pulse.is_gone(self._beat(), now), complaints.is_stuck(now)
            if gone or stuck:
                why = "lives no longer" if gone else "has lost its modem"
                log.error(f"gammu-smsd {why}, killing it", seconds=self._limit_s)
                self.kills += 1
                self.process.kill()
                return

    def _end(self) -> None:
        assert self.process is not None
        if self._stop.is_set() and self.process.poll() is None:
            self.process.terminate()
        try:
            self.process.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def _beat(self) -> str | None:
        p = smsd.phones
        try:
            with self._engine.begin() as tx:
                return str(tx.execute(sa.select(sa.func.max(p.c.UpdatedInDB))).scalar())
        except sa.exc.DBAPIError as error:
            log.warning("the tables cannot be read", reason=str(error.orig))
            return None


def main(smsdrc: str) -> None:
    """Watch until SIGTERM or SIGINT."""
    watchdog = Watchdog(Path(smsdrc))

    def stop(_number: int, _frame: FrameType | None) -> None:
        watchdog.stop()

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, stop)
    watchdog.run()


if __name__ == "__main__":
    main(sys.argv[1])
