"""The calendar of a site: patterns, nights, crews, days off, and the changes people make for one date."""

from datetime import UTC, date, datetime

import pytest

from sitebot.entries import DayPlanned
from sitebot.errors import DataError
from sitebot.respond.shifts import is_workday, next_shift, shift_of
from sitebot.site import site_of

CREWS = [
    {"name": "day", "people": ["Wilda", "Tobin"], "irons": ["1"]},
    {"name": "night", "people": ["Ruta", "Amaro"], "start": "19:00", "end": "05:30", "days": "tue-thu", "irons": ["2"]},
]
TWO = [
    {"name": "Wilda", "role": "lead", "phone": "+1 303 555 0161"},
    {"name": "Tobin", "role": "crew", "phone": "+1 303 555 0163"},
    {"name": "Ruta", "role": "lead", "phone": "+1 303 555 0169"},
    {"name": "Amaro", "role": "crew", "phone": "+1 303 555 0162"},
    {"name": "Garrick", "role": "superintendent", "phone": "+1 303 555 0165"},
]


def shift(day, on, person=""):
    with day.stage.journal.turn(day.stage.name, day.now) as turn:
        return shift_of(date.fromisoformat(on), turn.log.site(), turn.log, day.now.astimezone(day.site.tz), person)


def times(sent, to):
    return [s.at for s in sent if s.to == to]


def test_days_off_are_silent(clocked):
    """Saturday and Sunday bring nothing, and Monday is not forgotten though nobody wrote in between."""
    day = clocked("2026-04-17T19:00")
    assert day.to("2026-04-20T05:59") == []
    assert times(day.to("2026-04-20T06:01"), "Wilda") == ["06:00"]


def test_a_week_of_no_work_ends_by_itself(clocked):
    """Shut for ten days by the site file: the first morning after it has its reminder."""
    day = clocked("2026-04-17T19:00", days_off=[f"2026-04-{d}" for d in range(20, 31)])
    assert day.to("2026-05-01T05:59") == []
    assert times(day.to("2026-05-01T06:01"), "Wilda") == ["06:00"]


def test_public_holidays_are_off_only_where_the_site_says_so():
    """July 3, 2026 is observed in Colorado: off with holidays = US-CO, a working Friday without."""
    friday = date(2026, 7, 3)
    assert is_workday(friday, site_of({"name": "x"}, "test"))
    assert not is_workday(friday, site_of({"name": "x", "holidays": "US-CO"}, "test"))


def test_a_calendar_that_is_none_is_told_when_the_file_is_read():
    """holidays = "US-ZZ": the fault names the key."""
    with pytest.raises(DataError, match=r"test: holidays: no calendar for 'US-ZZ'"):
        site_of({"name": "x", "holidays": "US-ZZ"}, "test")


def test_people_of_a_crew_must_be_people_and_on_one_crew():
    """A name that is nobody and one on two crews are both told."""
    raw = {
        "name": "x",
        "people": [{"name": "A", "role": "lead"}],
        "crews": [{"name": "c", "people": ["A", "B"]}, {"name": "d", "people": ["A"]}],
    }
    with pytest.raises(DataError) as error:
        site_of(raw, "test")
    assert "'B' is not among the people" in str(error.value)
    assert "'A' stands there twice" in str(error.value)


def test_a_moved_start_moves_what_hangs_on_it_for_that_date_only(clocked):
    """Start 9 tomorrow: preheat at 8; the day after at 6 as ever."""
    day = clocked("2026-04-14T19:00")
    day.told(DayPlanned(date="2026-04-15", start="09:00"))
    assert times(day.to("2026-04-15T08:19"), "Wilda") == ["08:00"]
    day.iron("plugged_in")
    day.sample()
    day.to("2026-04-15T15:00")
    day.iron("unplugged")
    day.to("2026-04-15T16:00")
    assert times(day.to("2026-04-16T06:19"), "Wilda") == ["06:00"]


def test_a_start_moved_back_after_the_first_ping_begins_anew(clocked):
    """Pinged at 6:00, then "we start at 8": the next at 7:00 as a first one, to the lead alone."""
    day = clocked()
    day.to("2026-04-14T06:05")
    day.told(DayPlanned(date="2026-04-14", start="08:00"))
    sent = day.to("2026-04-14T07:05")
    assert [(s.at, s.to) for s in sent] == [("07:00", "Wilda")]
    assert sent[0].text.startswith("Time to plug in")


def test_a_start_moved_forward_to_soon_pings_at_once(clocked):
    """At 5:30 the start becomes 6:00: the preheat of 5:00 is overdue and goes out now."""
    day = clocked()
    day.to("2026-04-14T05:30")
    day.told(DayPlanned(date="2026-04-14", start="06:00"))
    sent = day.to("2026-04-14T05:35")
    assert times(sent, "Wilda") == ["05:31"]
    assert sent[0].text.startswith("Late, for 5:00 am:")


def test_a_rain_out_silences_the_day_and_asks_for_the_plug_soon(clocked):
    """No work from 11:00 with an iron on: the plug at 11:05; nothing at 15:30 once it is off."""
    day = clocked()
    day.to("2026-04-14T06:00")
    day.iron("plugged_in")
    day.sample()
    day.to("2026-04-14T11:00")
    day.told(DayPlanned(date="2026-04-14", no_work=True))
    assert times(day.to("2026-04-14T11:10"), "Wilda") == ["11:05"]
    day.iron("unplugged")
    assert day.to("2026-04-14T20:00") == []


def test_a_day_off_by_word_is_silent(clocked):
    """No work tomorrow: not a word tomorrow."""
    day = clocked("2026-04-14T19:00")
    day.told(DayPlanned(date="2026-04-15", no_work=True))
    assert day.to("2026-04-16T05:59") == []


def test_overtime_on_a_day_off_does_not_leave_an_iron_on(clocked):
    """Somebody welds on Saturday: no preheat, but the plug is asked for at the usual end."""
    day = clocked("2026-04-18T09:00")
    day.iron("plugged_in")
    sent = day.to("2026-04-18T15:31")
    assert times(sent, "Wilda") == ["15:30"]
    day.iron("unplugged")
    assert day.to("2026-04-20T05:59") == []


def test_a_night_shift_belongs_to_the_day_it_starts(clocked):
    """19:00 to 5:30: preheat at 18:00, the plug at 5:30 of the next date."""
    day = clocked("2026-04-14T12:00", shift={"start": "19:00", "end": "05:30"})
    assert times(day.to("2026-04-14T18:01"), "Wilda") == ["18:00"]
    day.iron("plugged_in", day="2026-04-14")
    day.sample()
    assert day.to("2026-04-15T05:29") == []
    assert times(day.to("2026-04-15T05:31"), "Wilda") == ["05:30"]


def test_each_crew_has_its_own_lines(clocked):
    """Day lead at 6:00 about iron 1, night lead at 18:00 about iron 2; neither settles the other's."""
    day = clocked(people=TWO, crews=CREWS, irons=["1", "2"])
    sent = day.to("2026-04-14T06:01")
    assert [(s.at, s.to) for s in sent] == [("06:00", "Wilda")]
    assert "1" in sent[0].text
    assert "2" not in sent[0].text
    day.iron("plugged_in", "1")
    day.sample(iron="1")
    sent = day.to("2026-04-14T18:41")
    night = [s for s in sent if s.at >= "18:00"]
    assert {(s.at, s.to) for s in night if "2" in s.text.replace("20", "")} == {
        ("18:00", "Ruta"),
        ("18:20", "Ruta"),
        ("18:40", "Ruta"),
        ("18:40", "Wilda"),
        ("18:40", "Amaro"),
    }


def test_a_lead_moves_his_own_crew_s_day(clocked):
    """The night lead says no work today: the day crew's shift stands, hers does not."""
    day = clocked("2026-04-14T10:00", people=TWO, crews=CREWS)
    day.says("Ruta", "plan_day", no_work=True, date="today")
    assert not shift(day, "2026-04-14", day.id("Ruta")).works
    assert shift(day, "2026-04-14", day.id("Wilda")).works


def test_the_superintendent_moves_everybody_s_day(clocked):
    """No work tomorrow by the superintendent: neither crew."""
    day = clocked("2026-04-14T10:00", people=TWO, crews=CREWS)
    day.says("Garrick", "plan_day", no_work=True, date="tomorrow")
    assert not any(shift(day, "2026-04-15", day.id(n)).works for n in ("Ruta", "Wilda"))


def test_when_do_we_start_names_the_next_day_of_work(clocked):
    """Asked about Saturday: no work, and Monday 7:00 as the next."""
    day = clocked("2026-04-17T10:00")
    reply = day.says("Tobin", "ask_day", date="saturday")
    assert "no work" in reply
    assert "Mon Apr 20" in reply


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-07", 9.5), ("2026-03-06", 10.5), ("2026-10-31", 11.5)], ids=["spring", "plain", "fall"]
)
def test_a_night_over_a_clock_change_is_as_long_as_it_is(day, hours):
    """19:00 to 5:30 lasts 9 1/2 hours when clocks go forward, 11 1/2 when they go back."""
    site = site_of({"name": "x", "zone": "America/Denver", "shift": {"start": "19:00", "end": "05:30"}}, "test")
    now = datetime(2026, 3, 1, tzinfo=UTC).astimezone(site.tz)
    found = shift_of(date.fromisoformat(day), site, NoChanges(), now)
    assert (found.end.astimezone(UTC) - found.start.astimezone(UTC)).total_seconds() / 3600 == hours


class NoChanges:
    def day_changes(self, day):
        return []


def test_next_shift_skips_what_is_off():
    """From Friday noon the next is Monday."""
    site = site_of({"name": "x", "zone": "America/Denver"}, "test")
    friday = datetime(2026, 4, 17, 12, 0, tzinfo=site.tz)
    assert next_shift(friday, site, NoChanges()).day == date(2026, 4, 20)
