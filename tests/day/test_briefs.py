"""Briefs in the morning and the evening, and the line about an iron left on."""

from dataclasses import replace

from sitebot.entries import PlacePlanned, PourPlanned, WeatherTold
from sitebot.respond.briefs import hot_iron_line
from sitebot.respond.desk import Desk
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.wording import render


def worked(clocked, **settings):
    day = clocked("2026-04-14T08:00", briefs=True, **settings)
    day.told(PlacePlanned(place="wall A", kinds={"butt": 3}), PourPlanned(place="wall A", date="2026-04-15"))
    day.welds(3, place="wall A")
    day.says("Ines", "report_inspection", numbers=[1], verdict="accept")
    day.says("Ines", "report_inspection", numbers=[2], verdict="reject", defect="porosity")
    return day


def test_the_superintendent_hears_the_day_in_short(clocked):
    """16:15: made, accepted, waiting, rejected, the redo, tomorrow's pour and start; two SMS parts."""
    sent = [s for s in worked(clocked).to("2026-04-14T16:16") if s.to == "Garrick" and s.at == "16:15"]
    (brief,) = sent
    for part in ("3 splices, 1 accepted, 1 waiting, 1 rejected", "Redo: #2", "To inspect: #3", "wall A", "Next: Wed"):
        assert part in brief.text
    assert len(brief.text) <= 306


def test_the_lead_hears_the_morning_in_short(clocked):
    """6:45: hours, the redo, what waits, today's pour."""
    sent = worked(clocked).to("2026-04-15T06:46")
    (brief,) = [s.text for s in sent if s.to == "Wilda" and s.at == "06:45"]
    for part in ("7:00 am to 3:30 pm", "Redo: #2", "To inspect: #3", "Pour Wed Apr 15, wall A"):
        assert part in brief


def test_the_morning_names_irons_weather_and_what_is_to_make(clocked):
    """The irons, the weather somebody told before, and how many splices each place lacks by its plan."""
    day = worked(clocked, irons=["1", "2"])
    day.told(PlacePlanned(place="wall B", kinds={"butt": 8}))
    today = "2026-04-15"
    day.to(f"{today}T06:30")
    day.told(WeatherTold(day=today, made_at=day.now.isoformat(), air_f=38, rain="light"))
    (brief,) = [s.text for s in day.to(f"{today}T06:46") if s.to == "Wilda" and s.at == "06:45"]
    for part in ("irons 1 and 2", "Weather: 38 F (3 C) and light rain", "To make: wall B 8, wall A 1"):
        assert part in brief
    assert len(brief) <= 306


def test_briefs_are_off_unless_the_site_wants_them(clocked):
    """Without briefs = true nobody gets one."""
    day = clocked("2026-04-14T08:00")
    day.welds(1)
    assert [s for s in day.to("2026-04-15T06:50") if "Next:" in s.text or "to 3:30" in s.text] == []


def test_one_word_ends_them_for_good(clocked):
    """ "brief off": none that evening nor the next; the lead still gets his."""
    day = worked(clocked)
    day.says("Garrick", "plan_day", remind=False, what="brief")
    sent = day.to("2026-04-15T17:00")
    assert [s for s in sent if s.to == "Garrick" and "accepted" in s.text] == []
    assert [s for s in sent if s.to == "Wilda" and "Redo" in s.text]


def test_a_brief_is_in_the_language_of_its_reader(clocked):
    """A superintendent who reads Spanish."""
    people = [
        {"name": "Wilda", "role": "lead", "phone": "+1 303 555 0161"},
        {"name": "Garrick", "role": "superintendent", "phone": "+1 303 555 0165", "language": "es"},
    ]
    day = clocked("2026-04-14T08:00", briefs=True, people=people)
    day.welds(2)
    sent = day.to("2026-04-14T16:16")
    assert any("por revisar" in s.text for s in sent if s.to == "Garrick" and s.at == "16:15")


def hot_line(day, person="Tobin"):
    with day.stage.journal.turn(day.stage.name, day.now) as turn:
        site = turn.log.site()
        who = next((p for p in turn.log.people() if p.name == person), None)
        local = day.now.astimezone(site.tz)
        desk = Desk(local, local, who, site, turn.log, Rulebook.load(rules_folder()))
        line = hot_iron_line(desk)
        assert line == hot_iron_line(replace(desk, last=()))
        return render(line, "en") if line else None


def test_an_iron_left_on_tops_every_reply_until_it_is_off(clocked):
    """Not in the shift; from 15:50 on for everybody; gone when somebody says off; back never."""
    day = clocked("2026-04-14T06:00")
    day.iron("plugged_in", "1")
    day.to("2026-04-14T15:40")
    assert hot_line(day) is None
    day.to("2026-04-14T15:50")
    assert hot_line(day) == 'Still on: iron 1, since 6:00 am. Unplug, text "unplugged".'
    assert hot_line(day, "nobody on the roster") is None
    day.to("2026-04-15T05:00")
    assert "since Tue Apr 14 6:00 am" in hot_line(day)
    day.iron("unplugged", "1")
    assert hot_line(day) is None


def test_a_reading_of_a_new_morning_is_no_iron_left_on(clocked):
    """Plugged in again at 6:00 after a night off: nothing on top at 7:00."""
    day = clocked("2026-04-14T06:00")
    day.iron("plugged_in", "1")
    day.to("2026-04-14T15:35")
    day.iron("unplugged", "1")
    day.to("2026-04-15T06:00")
    day.iron("plugged_in", "1")
    day.to("2026-04-15T07:00")
    assert hot_line(day) is None


def test_an_iron_in_use_again_is_no_iron_left_on(clocked):
    """Nobody said off last night, this morning somebody reads 370: not on top until tonight, and then asked about."""
    day = clocked("2026-04-14T06:00")
    day.iron("plugged_in", "1")
    day.to("2026-04-15T07:00")
    day.iron("reading", "1", 370)
    day.sample(iron="1")
    assert hot_line(day) is None
    assert [s.at for s in day.to("2026-04-15T15:31") if s.to == "Wilda"] == ["15:30"]
    day.to("2026-04-15T16:00")
    assert hot_line(day) is not None
