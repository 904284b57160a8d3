"""The order of kinds in a plan is not part of it."""

from datetime import UTC, datetime

from sitebot import entries as e
from sitebot.journal import Journal
from sitebot.journal.check import check


def test_a_plan_in_any_order_of_kinds_is_whole():
    """A plan told tee first and butt second rebuilds to the same row."""
    journal = Journal("sqlite://")
    journal.migrate()
    with journal.turn("s", datetime(2026, 4, 14, tzinfo=UTC)) as turn:
        turn.record([e.PlacePlanned(place="wall A", kinds={"tee": 1, "butt": 2})])
    assert list(check(journal, "s")) == []
    journal.close()
