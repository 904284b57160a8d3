"""Reminders that come back every day or every week, and what a crew means by "the irons"."""

import pytest

#: Where the order of rows, times and transactions matter, the same on both databases.
pytestmark = pytest.mark.parametrize("clocked", ["sqlite", "postgres"], indirect=True)

CREWS = [
    {"name": "north", "people": ["Wilda", "Tobin"], "irons": ["1", "2"]},
    {"name": "south", "people": ["Amaro"], "irons": ["3"]},
]


def times(sent, to, has=""):
    return [s.at for s in sent if s.to == to and has in s.text]


def test_a_daily_reminder_comes_each_working_day_and_on_no_day_off(clocked):
    """Asked for on a Friday: that day, then Monday, not at the weekend; the answer names what ends it."""
    day = clocked("2026-04-17T09:00")
    reply = day.says("Tobin", "plan_day", remind=True, at="15:00", what="change covers", every="day")
    assert "3:00 pm" in reply
    assert "change covers" in reply
    assert times(day.to("2026-04-17T15:30"), "Tobin", "covers") == ["15:00"]
    assert times(day.to("2026-04-20T06:00"), "Tobin", "covers") == []
    sent = day.to("2026-04-20T15:10")
    assert [s.at for s in sent if s.to == "Tobin" and "change covers" in s.text] == ["15:00"]


def test_a_weekly_one_comes_on_its_weekday(clocked):
    """Every Thursday at 2: this Thursday and the next, no other day."""
    day = clocked("2026-04-14T09:00")
    day.says("Tobin", "plan_day", remind=True, at="14:00", what="covers", every="thu")
    sent = []
    for date in range(14, 25):
        sent += [(date, s.at) for s in day.to(f"2026-04-{date}T14:30") if s.to == "Tobin" and "covers" in s.text]
    assert sent == [(16, "14:00"), (23, "14:00")]


@pytest.mark.parametrize("at", [{"at": "15:00"}, {}], ids=["by its hour", "all of them"])
def test_it_ends_when_he_says_so(clocked, at):
    """ "no more of the daily one": nothing the next day; a colleague's own stays."""
    day = clocked("2026-04-14T09:00")
    for who in ("Tobin", "Amaro"):
        day.says(who, "plan_day", remind=True, at="15:00", what="covers", every="day")
    day.says("Tobin", "plan_day", remind=False, every="day", **at)
    sent = [s for s in day.to("2026-04-14T15:30") if "covers" in s.text]
    assert [s.to for s in sent] == ["Amaro"]


def test_without_an_hour_it_is_asked_for(clocked):
    """ "remind me every day": at what time?"""
    day = clocked("2026-04-14T09:00")
    assert day.says("Tobin", "plan_day", remind=True, every="day") == "At what time?"


def test_ending_it_does_not_mute_the_shift(clocked):
    """Who wants no more of his own still hears of the irons."""
    day = clocked("2026-04-14T05:30")
    day.says("Wilda", "plan_day", remind=False, every="day")
    assert times(day.to("2026-04-14T06:01"), "Wilda") == ["06:00"]


def test_a_brief_is_off_by_one_word_and_on_again(clocked):
    """Without, no morning brief the next day; with it again the day after."""
    day = clocked("2026-04-14T05:30", briefs=True)

    def briefs():
        return [s.at for s in day.sent_by("06:45") if s.to == "Wilda" and "7:00 am to" in s.text]

    assert briefs() == ["06:45"]
    day.says("Wilda", "plan_day", remind=False, what="brief")
    assert briefs() == []
    day.says("Wilda", "plan_day", remind=True, what="brief")
    assert briefs()[-1:] == ["06:45"]


def test_a_crew_means_its_own_irons(clocked):
    """The south crew says "plugged in" and "off" without a number: irons 1 and 2 stay as they were."""
    day = clocked("2026-04-14T06:05", irons=["1", "2", "3"], crews=CREWS)
    day.says("Wilda", "report_iron", event="plugged_in")
    day.says("Amaro", "report_iron", event="plugged_in")
    assert {i.iron for i in day.irons() if i.on} == {"1", "2", "3"}
    day.says("Amaro", "report_iron", event="unplugged")
    assert {i.iron for i in day.irons() if i.on} == {"1", "2"}
    day.says("Garrick", "report_iron", event="unplugged", iron="all")
    assert {i.iron for i in day.irons() if i.on} == set()


def test_two_asked_for_at_the_same_moment_both_come(clocked):
    """Two people, and one of them twice, ask within one second: all three at their times."""
    day = clocked("2026-04-14T09:00")
    for who, at in (("Tobin", "10:00"), ("Tobin", "11:30"), ("Ines", "10:30")):
        day.says(who, "plan_day", remind=True, at=at, what="covers")
    sent = [(s.at, s.to) for s in day.to("2026-04-14T12:00") if "covers" in s.text]
    assert sent == [("10:00", "Tobin"), ("10:30", "Ines"), ("11:30", "Tobin")]
