"""Wakes the program when the next reminder falls due, and decides nothing. Nothing else uses APScheduler."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import structlog
from apscheduler.schedulers.asyncio import AsyncIOScheduler
from apscheduler.triggers.date import DateTrigger

log = structlog.get_logger(__name__)

#: After a tick that failed, how long until the next try [s]: the database may be back by then.
TRY_AGAIN_S = 30
#: Nobody sleeps longer than this [s], so that a clock set anew is noticed.
LONGEST_SLEEP_S = 900


class Waker:
    """Wakes the program when the next reminder of any site falls due; the rows say what, APScheduler says when.

    Its one job is set anew after every tick and whenever ``arm`` is called. ``clock`` is the program's time, so that
    tests may move it.
    """

    def __init__(
        self,
        next_wake: Callable[[], tuple[str, datetime] | None],
        tick: Callable[[str, datetime], object],
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._next_wake = next_wake
        self._tick = tick
        self._clock = clock
        self._scheduler = AsyncIOScheduler(timezone=UTC)

    def start(self) -> None:
        """Begin on the running event loop; what fell due meanwhile goes out at once."""
        self._scheduler.start()
        self.arm()

    def stop(self) -> None:
        self._scheduler.shutdown(wait=False)

    def arm(self) -> None:
        """Look again at when to wake."""
        if (wake := self._next_wake()) is None:
            return
        self._sleep(wake[1] - self._clock())

    def _sleep(self, wait: timedelta) -> None:
        wait = min(max(wait, timedelta(0)), timedelta(seconds=LONGEST_SLEEP_S))
        self._scheduler.add_job(
            self._woken,
            DateTrigger(datetime.now(UTC) + wait),
            id="wake",
            replace_existing=True,
            misfire_grace_time=None,  # never too late to look: due() decides what still makes sense
        )

    async def _woken(self) -> None:
        try:
            now = self._clock()
            while (wake := self._next_wake()) and wake[1] <= now:
                self._tick(wake[0], now)
        except Exception:
            # A locked database or a fault of ours: the rows still say what is due, so the next try loses nothing.
            log.exception("not woken")
            self._sleep(timedelta(seconds=TRY_AGAIN_S))
        else:
            self.arm()
