"""Reminders by the clock: each with its reason, to whom it belongs, until somebody reports."""

import pytest

from sitebot.entries import Acknowledged, DayPlanned, PersonJoined, PlacePlanned, PourPlanned, TextsStopped

LEAD = "Wilda"


def times(sent, to=LEAD, has=""):
    return [s.at for s in sent if s.to == to and has in s.text]


def test_the_lead_is_pinged_an_hour_before_the_start_then_every_20_minutes(clocked):
    """Preheat at 6:00, 6:20, 6:40; at 6:40 the crew hear as well, at 7:00 the superintendent."""
    sent = clocked().to("2026-04-14T07:05")
    assert times(sent, has="plug") == ["06:00", "06:20", "06:40", "07:00"]
    assert times(sent, "Tobin") == ["06:40"]
    assert times(sent, "Garrick") == ["07:00"]
    assert times(sent, "Ines") == []


def test_the_longer_nobody_answers_the_rarer_it_comes(clocked):
    """After the first hour every half hour for the lead; the crew and the superintendent by the hour, then rarer."""
    sent = clocked().to("2026-04-14T09:59")
    assert times(sent, has="plug")[4:] == ["07:30", "08:00", "08:30", "09:00", "09:30"]
    assert times(sent, "Tobin", has="plug") == ["06:40", "08:00"]
    assert times(sent, "Garrick", has="plug") == ["07:00", "08:00"]


def test_each_hears_in_his_language_and_what_to_answer(clocked):
    """Amaro's text is Spanish; both name the words that end it."""
    sent = clocked().to("2026-04-14T06:41")
    assert any('"plugged in"' in s.text for s in sent if s.to == LEAD)
    assert all('"conectada"' in s.text for s in sent if s.to == "Amaro")


def test_a_report_by_anyone_ends_it(clocked):
    """Plugged in at 6:10: no more of it."""
    day = clocked()
    day.to("2026-04-14T06:10")
    day.iron("plugged_in")
    assert day.to("2026-04-14T06:59") == []


def test_a_report_ends_it_for_that_iron_only(clocked):
    """Iron 1 is in: the next one asks for iron 2 alone; when that is in, nobody is asked."""
    day = clocked(irons=["1", "2"])
    day.to("2026-04-14T06:10")
    day.iron("plugged_in", "1")
    (again,) = day.to("2026-04-14T06:30")
    assert "2" in again.text
    assert "1" not in again.text.replace("20", "")
    day.iron("plugged_in", "2")
    assert day.to("2026-04-14T06:59") == []


def test_an_iron_out_of_order_is_not_asked_for(clocked):
    """Iron 2 died yesterday: this morning only iron 1 is asked for."""
    day = clocked("2026-04-13T13:00", irons=["1", "2"])
    day.iron("fault", "2")
    morning = [s for s in day.to("2026-04-14T06:01") if s.at == "06:00"]
    assert [s.to for s in morning] == [LEAD]
    assert "1" in morning[0].text
    assert "2" not in morning[0].text


def test_welds_show_that_the_irons_are_in(clocked):
    """A splice reported at 6:30: nobody asks whether the iron is in."""
    day = clocked()
    day.to("2026-04-14T06:30")
    day.welds(1)
    assert times(day.to("2026-04-14T07:30"), has="plug") == []


def test_the_sample_is_asked_for_by_iron(clocked):
    """Both are in, 1 has passed: 2 is asked for until it has."""
    day = clocked(irons=["1", "2"])
    day.to("2026-04-14T05:59")
    day.iron("plugged_in", "1")
    day.iron("plugged_in", "2")
    day.to("2026-04-14T06:50")
    day.sample(iron="1")
    sent = day.to("2026-04-14T07:25")
    assert times(sent, has="iron 2") == ["07:00", "07:20"]
    day.sample("fail", "2")
    assert times(day.to("2026-04-14T07:41")) == ["07:40"]
    day.sample("pass", "2")
    assert day.to("2026-04-14T09:00") == []


def test_an_iron_that_should_be_hot_is_asked_about_before_the_start(clocked):
    """In at 6:00, no reading at 6:45: the melt test is asked for once; a reading before would have ended it."""
    day = clocked(reminding={"melt_test": True}, irons=["1"])
    day.to("2026-04-14T06:00")
    day.iron("plugged_in", "1")
    assert times(day.to("2026-04-14T06:59"), has="melt") == ["06:45"]
    other = clocked(reminding={"melt_test": True}, irons=["1"])
    other.to("2026-04-14T06:00")
    other.iron("plugged_in", "1")
    other.minutes(40)
    other.iron("reading", "1", 371)
    assert other.to("2026-04-14T06:59") == []


def test_covers_are_looked_at_after_so_many_welds(clocked):
    """40 welds on iron 1 since the last cover: once to the lead; not again before another 40."""
    day = clocked("2026-04-14T08:01", reminding={"cover_welds": 40})
    day.iron("plugged_in", "1")
    day.sample(iron="1")
    day.welds(39, "1")
    assert times(day.to("2026-04-14T09:01"), has="cover") == []
    day.welds(1, "1")
    assert times(day.to("2026-04-14T14:00"), has="cover") == ["09:30"]
    day.welds(30, "1")
    day.iron("cover_changed", "1")
    day.minutes(1)
    day.welds(11, "1")
    assert times(day.to("2026-04-14T15:29"), has="cover") == []


def test_an_open_rework_is_told_before_the_end_and_the_report_after(clocked):
    """#2 rejected: 15:00; 16:00 the day's count; without work neither."""
    day = clocked("2026-04-14T08:00", reminding={})
    day.welds(3)
    day.says("Ines", "report_inspection", numbers=[2], verdict="reject", defect="porosity")
    sent = day.to("2026-04-14T16:01")
    assert times(sent, has="#2") == ["15:00"]
    assert times(sent, has="3 made") == ["16:00"]
    idle = clocked("2026-04-14T08:00", reminding={})
    assert times(idle.to("2026-04-14T16:01"), has="made") == []


def test_a_pour_with_open_points_is_told_the_day_before_and_before_it(clocked):
    """Pour on Thursday at 10:00: Wednesday 13:30 and Thursday 8:00, to lead and inspector, with what is open."""
    day = clocked("2026-04-14T08:00", reminding={"pour": True})
    day.told(PlacePlanned(place="wall A", kinds={"butt": 2}))
    day.welds(2, place="wall A")
    day.told(PourPlanned(place="wall A", date="2026-04-16", at="10:00"))
    sent = day.to("2026-04-16T11:00")
    for who in (LEAD, "Ines"):
        assert times(sent, who, "wall A") == ["13:30", "08:00"]
    assert all("#1, 2" in s.text for s in sent if "wall A" in s.text)
    assert times(sent, "Garrick", "wall A") == []


def test_a_place_that_is_ready_is_not_spoken_of(clocked):
    """All accepted before the time: nothing goes out."""
    day = clocked("2026-04-14T08:00", reminding={"pour": True})
    day.told(PlacePlanned(place="wall A", kinds={"butt": 2}), PourPlanned(place="wall A", date="2026-04-16"))
    day.welds(2, place="wall A")
    day.says("Ines", "report_inspection", numbers=[1, 2], verdict="accept")
    assert [s for s in day.to("2026-04-16T11:00") if "wall A" in s.text] == []


def test_half_an_hour_after_the_last_iron_went_off_it_may_be_packed(clocked):
    """Off at 15:20: at 15:50 the lead hears that it may be cool, with the hand test."""
    day = clocked("2026-04-14T06:00", reminding={"pack": True})
    day.iron("plugged_in")
    day.to("2026-04-14T15:20")
    day.iron("unplugged")
    sent = day.to("2026-04-14T17:00")
    assert times(sent, has="pack") == ["15:50"]
    assert times(sent, has="nplug") == []


def test_the_end_of_shift_asks_for_the_plug_and_goes_up(clocked):
    """15:30 lead, 16:10 crew, 16:30 superintendent, who hears by the hour; until somebody says off."""
    day = clocked()
    day.to("2026-04-14T06:00")
    day.iron("plugged_in")
    day.sample()
    sent = day.to("2026-04-14T20:30")
    assert times(sent)[:4] == ["15:30", "15:50", "16:10", "16:30"]
    assert times(sent)[-2:] == ["19:00", "20:00"]
    assert times(sent, "Tobin") == ["16:10", "17:30", "20:00"]
    assert times(sent, "Garrick") == ["16:30", "17:30", "18:30", "20:00"]
    day.iron("unplugged")
    assert day.to("2026-04-15T05:59") == []


def test_an_iron_left_on_rests_after_8_hours_and_the_morning_asks_anew(clocked):
    """Nobody reports for a night: the last text at 23:00; preheat at 6:00 as ever, for it may well be cold."""
    day = clocked()
    day.to("2026-04-14T06:00")
    day.iron("plugged_in")
    night = day.to("2026-04-15T05:59")
    assert night[-1].at == "23:00"
    assert times(day.to("2026-04-15T06:05"), has="plug in") == ["06:00"]


def test_never_two_of_the_same_within_ten_minutes(clocked):
    """He asked for 15:25, the shift asks at 15:30: it waits until 15:35."""
    day = clocked("2026-04-14T12:00")
    day.iron("plugged_in")
    day.sample()
    wish = DayPlanned(
        date="2026-04-14", remind_at=day.utc("2026-04-14T15:25").isoformat(), what="unplug", who=(day.id(LEAD),)
    )
    day.told(wish, by=day.id(LEAD))
    assert times(day.to("2026-04-14T15:50")) == ["15:25", "15:35"]


def test_what_he_asked_for_at_the_same_moment_comes_once(clocked):
    """15:30 by his wish and by the shift: one text."""
    day = clocked("2026-04-14T12:00")
    day.iron("plugged_in")
    day.sample()
    at = day.utc("2026-04-14T15:30").isoformat()
    day.told(DayPlanned(date="2026-04-14", remind_at=at, what="unplug", who=(day.id(LEAD),)))
    assert times(day.to("2026-04-14T15:49")) == ["15:30"]


def test_a_snooze_holds_as_long_as_it_says(clocked):
    """Snooze 30 at 6:05: silence, then 6:35."""
    day = clocked()
    day.to("2026-04-14T06:05")
    day.says(LEAD, "plan_day", snooze_min=30)
    assert times(day.to("2026-04-14T06:45")) == ["06:35"]


def test_an_errand_in_twenty_minutes_is_a_reminder_of_his_own(clocked):
    """ "remind me in 20 min to ..." at 10:00: at 10:20, once, with its words; nothing of ours is put off."""
    day = clocked("2026-04-14T10:00")
    day.iron("plugged_in")
    day.sample()
    said = day.says(LEAD, "plan_day", snooze_min=20, remind=True, what="order sleeves")
    assert "10:20" in said
    assert "order sleeves" in said
    assert [r.text for r in day.to("2026-04-14T11:00")] == ["Reminder you asked for: order sleeves."]


def test_a_snooze_holds_a_hot_iron_an_hour_at_most(clocked):
    """Snooze 300 at 15:35 with an iron on: back at 16:35, and the reply says so."""
    day = clocked("2026-04-14T12:00")
    day.iron("plugged_in")
    day.sample()
    day.to("2026-04-14T15:35")
    assert "60 min" in day.says(LEAD, "plan_day", snooze_min=300)
    assert times(day.to("2026-04-14T17:00"))[0] == "16:35"


@pytest.mark.parametrize(
    "entry",
    [DayPlanned(date="2026-04-14", quiet=True, who=("p1",)), TextsStopped(person="p1")],
    ids=["not tonight", "stop"],
)
def test_who_declines_has_the_hot_iron_go_to_another(clocked, entry):
    """The lead wants none: at 15:30 the crew hear, he does not."""
    day = clocked("2026-04-14T12:00")
    day.iron("plugged_in")
    day.sample()
    day.told(entry, by="p1")
    sent = day.to("2026-04-14T15:35")
    assert times(sent) == []
    assert times(sent, "Tobin") == ["15:30"]


def test_where_everybody_declines_the_lead_hears_of_a_hot_iron_all_the_same(clocked):
    """A hot iron is never muted for all; who sent STOP gets nothing though."""
    people = [{"name": "Wilda", "role": "lead", "phone": "+1 303 555 0161"}]
    day = clocked("2026-04-14T12:00", people=people)
    day.iron("plugged_in")
    day.sample()
    day.told(DayPlanned(date="2026-04-14", quiet=True, who=("p1",)))
    assert times(day.to("2026-04-14T15:35")) == ["15:30"]
    day.told(TextsStopped(person="p1"))
    assert day.to("2026-04-14T16:30") == []


def test_stop_the_evening_ones_holds_every_evening_and_keeps_the_mornings(clocked):
    """The lead declines evenings: the crew hear of the plug today and tomorrow; his mornings go on."""
    day = clocked("2026-04-14T12:00")
    day.iron("plugged_in")
    day.sample()
    assert "vening" in day.says(LEAD, "plan_day", remind={"evening": False, "morning": True})
    assert times(day.to("2026-04-14T16:00")) == []
    day.iron("unplugged")
    assert times(day.to("2026-04-15T06:05")) == ["06:00"]


def test_quiet_hours_hold_what_can_wait_and_nothing_of_the_shift(clocked):
    """Quiet from 15:00: the rework of 15:00 is in the shift; the report of 16:40 waits for 17:30; the plug does not."""
    day = clocked("2026-04-14T08:00", reminding={"quiet": "16:31-17:30", "pack": False}, shift={"end": "16:15"})
    day.welds(1)
    sent = day.to("2026-04-14T18:00")
    assert times(sent, has="1 made") == ["16:45"]
    late = clocked("2026-04-14T08:00", reminding={"quiet": "20:00-22:00"}, shift={"end": "15:30"})
    late.told(PlacePlanned(place="wall A", kinds={"butt": 2}))
    late.told(PourPlanned(place="wall A", date="2026-04-14", at="22:30"))
    assert times(late.to("2026-04-14T23:00"), "Ines") == ["22:00"]


def test_a_break_holds_what_can_wait(clocked):
    """A pour's open points of 12:00 come after the break."""
    day = clocked("2026-04-14T08:00", reminding={}, shift={"breaks": ["12:00-12:30"]})
    day.told(
        PlacePlanned(place="wall A", kinds={"butt": 2}), PourPlanned(place="wall A", date="2026-04-14", at="14:00")
    )
    assert times(day.to("2026-04-14T13:00"), "Ines") == ["12:30"]


def test_done_ends_the_plug_where_no_iron_is_known(clocked):
    """Nobody reported an iron all day: asked for at the end, ended by "done"."""
    day = clocked("2026-04-14T15:00")
    day.told(Acknowledged(what="unplug", day="2026-04-14", made_at=day.now.isoformat()))
    assert times(day.to("2026-04-14T18:00"), has="nplug") == []


def test_a_lead_on_his_day_off_is_left_alone(clocked):
    """The only lead is off today: the crew hear at once."""
    day = clocked()
    day.told(DayPlanned(date="2026-04-14", no_work=True, who=(day.id(LEAD),)))
    sent = day.to("2026-04-14T06:05")
    assert {s.to for s in sent} == {"Amaro", "Tobin"}


def test_every_lead_hears_the_first(clocked):
    """Two leads: both at 6:00."""
    day = clocked()
    day.told(PersonJoined(person="p9", role="lead", name="Ruta", addresses=("+13035550169",)))
    day.stage.names["+13035550169"] = "Ruta"
    assert {s.to for s in day.to("2026-04-14T06:01")} == {LEAD, "Ruta"}
