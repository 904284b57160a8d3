"""Waking by APScheduler on a clock that the test moves."""

import asyncio
from datetime import UTC, datetime, timedelta

from sitebot.reminders import Waker


async def woken(wakes, clock):
    """Run a waker until its rows are empty; the ticks it made."""
    ticks, done = [], asyncio.Event()

    def tick(site, now):
        ticks.append((site, now))
        wakes.pop(site)
        if not wakes:
            done.set()

    def next_wake():
        return min(wakes.items(), key=lambda w: w[1]) if wakes else None

    waker = Waker(next_wake, tick, clock)
    waker.start()
    await asyncio.wait_for(done.wait(), 2)
    waker.stop()
    return ticks


async def test_what_fell_due_while_the_program_was_down_goes_out_at_once():
    """Two sites overdue by hours are ticked at once, the older first."""
    now = datetime(2026, 4, 14, 13, 0, tzinfo=UTC)
    ticks = await woken({"a": now - timedelta(hours=1), "b": now - timedelta(hours=3)}, lambda: now)
    assert [site for site, _ in ticks] == ["b", "a"]


async def test_a_wake_ahead_waits_for_its_time():
    """A reminder 50 ms ahead is not sent before it is due."""
    start = datetime.now(UTC)
    due = start + timedelta(milliseconds=50)
    ticks = await woken({"a": due}, lambda: datetime.now(UTC))
    assert ticks[0][1] >= due
