"""Waking: a tick that fails loses nothing; finding the next wake costs the same however many are pending."""

import asyncio
from datetime import UTC, datetime

import pytest

from sitebot.journal import Journal
from sitebot.message import Say
from sitebot.reminders import Waker, waker
from sitebot.wording import render
from sitebot.wording.render import phrases

NOW = datetime(2026, 4, 14, 13, 0, tzinfo=UTC)


async def test_a_tick_that_fails_is_tried_again(monkeypatch):
    """The database is locked twice: the third try goes through, and later wakes still come."""
    monkeypatch.setattr(waker, "TRY_AGAIN_S", 0.01)
    pending, tries, done = {"a": NOW, "b": NOW}, [], asyncio.Event()

    def tick(site, now):
        tries.append(site)
        if len(tries) < 3:
            raise OSError("locked")
        pending.pop(site)
        if not pending:
            done.set()

    woken = Waker(lambda: min(pending.items(), key=lambda w: w[::-1]) if pending else None, tick, lambda: NOW)
    woken.start()
    await asyncio.wait_for(done.wait(), 2)
    woken.stop()
    assert tries == ["a", "a", "a", "b"]


def test_the_next_wake_is_found_by_its_index():
    """SQLite walks the index of the times; it neither scans nor sorts the pending ones."""
    journal = Journal("sqlite://")
    journal.migrate()
    with journal.engine.begin() as tx:
        plan = tx.exec_driver_sql("EXPLAIN QUERY PLAN SELECT site, due_at FROM wakes ORDER BY due_at LIMIT 1").all()
    assert [row[3] for row in plan] == ["SCAN wakes USING INDEX wakes_due"]


def test_what_overdue_wakes_cost_is_one_tick_a_site(clocked):
    """A site that slept a week is looked at once, not once for every wake it missed."""
    day = clocked("2026-04-13T05:00")
    day.stage.now = day.utc("2026-04-20T12:00")
    day.stage.app.tick(day.stage.name, day.now)
    wake = day.stage.journal.next_wake()
    assert wake[1] > day.now


VALUES = {
    "irons": ["1", "2"],
    "iron": "2",
    "start": NOW,
    "minutes": ["58", "61", "57"],
    "time": NOW,
    "n": 40,
    "numbers": [12, 14],
    "first": 12,
    "made": 11,
    "waiting": 4,
    "place": "ring wall A",
    "date": NOW.date(),
    "at": NOW,
    "points": [Say("pours.rework", {"numbers": [12, 14]})],
    "since": NOW,
}


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("key", sorted(k for k in phrases("en") if k[:10] == "reminders." and k[10:] != "several"))
def test_a_reminder_is_one_sms(key, language):
    """With usual values every phrase fits one part of 160 characters, and no brace stays open."""
    text = render(Say(key, VALUES), language)
    assert len(text) <= 160, text
    assert "{" not in text


def test_every_kind_has_its_phrases():
    """Each line has its words, in full, in short, and again where it repeats."""
    kinds = ("preheat", "melt", "sample", "unplug", "cover", "rework", "report", "pack", "pour", "own")
    wanted = [f"reminders.{k}" for k in kinds] + [f"reminders.short_{k}" for k in kinds]
    wanted += [f"reminders.{k}_again" for k in ("preheat", "sample", "unplug")]
    assert [k for k in wanted if k not in phrases("es")] == []
