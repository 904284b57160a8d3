"""Reminders outlive restarts, outages, clocks set forward and back, and a changed zone."""

from datetime import timedelta

import pytest

from sitebot import reminders
from sitebot.app import App
from sitebot.entries import SiteSet
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.telling import Teller

#: Where the order of rows, times and transactions matter, the same on both databases.
pytestmark = pytest.mark.parametrize("clocked", ["sqlite", "postgres"], indirect=True)


def times(sent, to="Wilda"):
    return [s.at for s in sent if s.to == to]


def test_an_hour_of_outage_is_one_late_text_a_person(clocked):
    """Down from 5:30 to 7:10: preheat and sample in one text to the lead, which says what it is late for."""
    day = clocked("2026-04-14T05:30", irons=["1", "2"])
    sent = day.asleep_to("2026-04-14T07:10")
    assert [(s.at, s.to) for s in sent] == [("07:10", "Wilda")]
    assert sent[0].text.startswith("Late, for 6:00 am:")
    assert "plugged in" in sent[0].text
    assert "sample pass" in sent[0].text
    assert day.minutes(19) == []


def test_a_long_outage_with_many_lines_is_still_one_text_each(clocked):
    """Down over a day's end with rework, report, pour, pack and plug due: one text to each, three SMS parts at most."""
    from sitebot.entries import PlacePlanned, PourPlanned

    day = clocked("2026-04-14T13:00", reminding={"cover_welds": 5}, irons=["1", "2"], briefs=True)
    day.told(
        PlacePlanned(place="wall A", kinds={"butt": 9}), PourPlanned(place="wall A", date="2026-04-14", at="18:00")
    )
    day.iron("plugged_in", "1")
    day.iron("plugged_in", "2")
    day.welds(6, "1", "wall A")
    day.says("Ines", "report_inspection", numbers=[2], verdict="reject", defect="porosity")
    sent = day.asleep_to("2026-04-14T16:55")
    assert sorted(s.to for s in sent) == sorted({s.to for s in sent})
    lead = next(s.text for s in sent if s.to == "Wilda")
    assert len(lead) <= 459
    for word in ("unplug", "redo", "pour", "6 made"):
        assert word in lead


@pytest.mark.parametrize("at", ["05:59", "06:00", "06:10", "06:39", "07:00"])
def test_a_restart_at_any_moment_repeats_and_forgets_nothing(clocked, tmp_path, at):
    """The same texts at the same times whether or not the program was started anew in between."""
    whole = clocked().to("2026-04-14T08:00")
    day = clocked(journal=Journal.at(tmp_path / "log.db"))
    sent = day.to(f"2026-04-14T{at}")
    day.stage.journal.close()
    day.stage.journal = Journal.at(tmp_path / "log.db")
    reader = day.stage.app.reader
    day.stage.app = App(day.stage.journal, Rulebook.load(rules_folder()), reader)
    day.stage.app.tick(day.stage.name, day.now)
    assert [*sent, *day.to("2026-04-14T08:00")] == whole


def test_a_tick_twice_at_the_same_moment_sends_once(clocked):
    """Two processes wake for the same row: the second finds nothing to do."""
    day = clocked("2026-04-14T05:59")
    day.to("2026-04-14T06:00")
    assert day.stage.app.tick(day.stage.name, day.now) == 0
    assert day.sent() == []


def test_a_crash_in_a_tick_leaves_nothing_and_the_next_one_sends(clocked, monkeypatch):
    """Raise after the entries are written: no entry stays, no text goes; then both, once."""
    day = clocked("2026-04-14T05:59")
    monkeypatch.setattr(Teller, "reminders", lambda *_: (_ for _ in ()).throw(RuntimeError))
    with pytest.raises(RuntimeError):
        day.to("2026-04-14T06:00")
    assert day.sent() == []
    monkeypatch.undo()
    assert times(day.to("2026-04-14T06:01")) == ["06:00"]
    assert list(check(day.stage.journal, day.stage.name)) == []


@pytest.mark.parametrize("day_of_change", ["2026-03-08", "2026-11-01"], ids=["spring", "fall"])
def test_clock_changes_neither_skip_nor_double(clocked, day_of_change):
    """The Sunday of the change is worked: one first preheat at 6:00, every repeat 20 elapsed minutes on."""
    day = clocked(f"{day_of_change}T00:30", shift={"days": "mon-sun"})
    assert times(day.to(f"{day_of_change}T07:01")) == ["06:00", "06:20", "06:40", "07:00"]


def test_a_preheat_in_the_hour_that_is_skipped_is_an_hour_before_the_start(clocked):
    """Start at 3:30 on the night the clocks go forward: the ping at 1:30, an hour of elapsed time before."""
    day = clocked("2026-03-08T00:10", shift={"start": "03:30", "end": "12:00", "days": "mon-sun"})
    first = day.to("2026-03-08T03:31")[0]
    assert first.at == "01:30"


def test_a_preheat_in_the_hour_that_comes_twice_goes_out_once(clocked):
    """Start at 2:30 on the night they go back: 1:30 comes twice; the second, an hour before, is the one."""
    day = clocked("2026-11-01T00:10", shift={"start": "02:30", "end": "10:00", "days": "mon-sun"})
    start = day.utc("2026-11-01T02:30")
    day.to("2026-11-01T00:59")
    day.minutes(0)
    sent = []
    while not sent:
        sent = day.minutes(5)
    assert timedelta(minutes=55) < start - day.now <= timedelta(minutes=60)
    assert [s.at for s in sent] == ["01:30"]
    assert times(day.to("2026-11-01T02:15"))[0] == "01:50"


def test_a_changed_zone_moves_what_is_ahead_and_repeats_nothing(clocked):
    """Pinged at 6:00 in Denver, then the site is in Los Angeles: the next at its 6:00, an hour later."""
    day = clocked()
    day.to("2026-04-14T06:01")
    with day.stage.journal.turn(day.stage.name, day.now) as turn:
        settings = dict(turn.log.settings()) | {"zone": "America/Los_Angeles"}
    day.told(SiteSet(name="Tank 2", zone="America/Los_Angeles", settings=settings))
    assert times(day.to("2026-04-14T07:05")) == ["07:00"]


def test_a_site_nobody_writes_to_is_looked_at_every_day(clocked):
    """There is a wake ahead within a day, also where no work is planned at all."""
    day = clocked("2026-04-18T09:00")
    with day.stage.journal.turn(day.stage.name, day.now) as turn:
        ahead = reminders.wakes(turn.log.site(), turn.log, day.now)
    assert min(ahead.values()) - day.now <= timedelta(days=1)
