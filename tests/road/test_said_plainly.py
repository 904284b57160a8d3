"""What people read in the rain: one noun for irons, local times, one sentence where two would say the same."""

from datetime import UTC, datetime

import pytest

from sitebot.acts import Act
from sitebot.demo import HERE
from sitebot.respond.desk import Desk
from sitebot.respond.irons import acknowledge, answer
from sitebot.site import read_site_file
from sitebot.stage import SITE, Stage
from sitebot.wording.render import render


@pytest.fixture
def two():
    """The demo's site with two irons, plugged in at 6:05 in the morning."""
    site = read_site_file(HERE / "site.toml").model_copy(update={"irons": ("1", "2")})
    stage = Stage(site, datetime(2026, 4, 14, 6, 5, tzinfo=site.tz).astimezone(UTC))
    stage.say("Wilda", "plugged in")
    stage.sent()
    return stage


def at(stage, hour, minute):
    stage.run_to(datetime(2026, 4, 14, hour, minute, tzinfo=stage.site.tz).astimezone(UTC))
    return [out.text for _, out in stage.sent()]


def reply(stage, who, text):
    stage.sent()
    stage.say(who, text)
    return " ".join(out.text for _, out in stage.sent() if out.kind == "reply")


def desk_of(stage, turn, who="Wilda", **more):
    person = next(p for p in turn.log.people() if p.name == who)
    now = stage.now.astimezone(stage.site.tz)
    return Desk(now, now, person, stage.site, turn.log, stage.app.rules, **more)


def test_two_irons_one_sentence(two):
    """Both plugged in together: one "not yet" that names both, in one part."""
    at(two, 6, 20)
    answer = reply(two, "Tobin", "is it hot yet")
    assert answer.startswith("Not yet, irons 1 and 2:")
    assert answer.count("Not yet") == 1
    assert len(answer) <= 160


def test_two_irons_one_melt_question(two):
    """The question whether they melt a scrap comes once for both."""
    (text,) = at(two, 6, 50)
    assert text.startswith("About time for irons 1 and 2.")
    assert text.count("scrap") == 1


def test_a_reading_is_told_in_local_time(two):
    """Read at 6:45 in Denver it is "read 6:45 am" and not the hour of UTC."""
    at(two, 6, 45)
    reply(two, "Tobin", "340 iron 1")
    at(two, 6, 50)
    assert "read 6:45 am" in reply(two, "Tobin", "is iron 1 ready")


def test_a_reading_of_both_is_of_each(two):
    """365 on both is a reading of iron 1 and one of iron 2, and the reply names the two."""
    with two.journal.turn(SITE, two.now) as turn:
        said = answer(Act("report_iron", {"event": "reading", "iron": "all", "temp_f": 365}), desk_of(two, turn))
    assert [(e.iron, e.temp_f) for e in said.entries] == [("1", 365), ("2", 365)]
    assert render(said.says[0], "en").startswith("365 F noted, irons 1 and 2,")


def test_a_dead_iron_is_the_one_spoken_of(two):
    """ "iron 2 won't heat past 300", "its dead": iron 2, and not both."""
    reply(two, "Wilda", "iron 2 wont heat past 300")
    assert "iron 2 out" in reply(two, "Wilda", "its dead")
    with two.journal.turn(SITE, two.now) as turn:
        assert [i.iron for i in turn.log.irons_on()] == ["1"]


def test_thanks_leave_a_hot_iron_on(two):
    """Thanks for the reminder to unplug: nothing is recorded; "done" is."""
    with two.journal.turn(SITE, two.now) as turn:
        desk = desk_of(two, turn, reminders=("unplug",))
        assert acknowledge(Act("ack", {"thanks": True}), desk).entries == ()
        assert len(acknowledge(Act("ack", {}), desk).entries) == 3


def test_the_story_of_a_splice_names_verdicts_and_its_redo(texts):
    """ "what happened to 1": rejected by whom, redone by whom, the date once, two parts at most."""
    texts("Tobin", "1 butt ring wall A")
    texts("Ines", "1 rejected, pores")
    texts("Tobin", "redid 1")
    story = texts("Ines", "what happened to 1")
    assert "rejected by Ines" in story.split("Log:")[1]
    assert "redone by Tobin" in story
    assert story.split("Log:")[1].count("Apr 14") == 1


def test_a_cut_out_is_not_one_more_to_make(texts):
    """Planned 3, all made, one rejected: it is to redo, and nothing is to make besides the corner."""
    texts("Tobin", "3 butts ring wall A")
    texts("Ines", "1-2 ok")
    texts("Ines", "3 rejected, pores")
    answer = texts("Garrick", "can we pour ring wall A")
    assert "to redo #3" in answer
    assert "butt" not in answer


def test_a_planned_pour_tells_its_time_as_people_do(texts):
    """7 in the morning is 7:00 am and not 07:00."""
    assert "7:00 am" in texts("Garrick", "plan the pour of ring wall A thursday 7am")


def test_a_moved_day_says_that_it_is_noted(texts):
    """The reply to "start 6 tomorrow" ends with what became of it."""
    assert texts("Garrick", "start 6 tomorrow").endswith("start 6:00 am, noted.")


def test_a_strangers_stop_is_no_matter_of_the_lead(stage):
    """STOP from a number not on the list: one confirmation, nobody is told that somebody without a name stopped."""
    stage.sent()
    stage.say("+13035550999", "STOP")
    assert [stage.name_of(out.address) for _, out in stage.sent()] == ["+13035550999"]


def test_a_splice_without_place_waits_as_such(texts):
    """What waits names "no place" and not a question mark."""
    texts("Tobin", "1 butt")
    answer = texts("Ines", "what's waiting")
    assert "no place #1" in answer
