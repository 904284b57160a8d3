"""Whom texts do not reach: the lead hears it once, reminders go round him, and it ends when texts arrive again."""

from datetime import UTC, datetime, timedelta

import pytest

from sitebot.acts import Act
from sitebot.channels.sms.courtesy import Standing
from sitebot.channels.sms.line import Receipt, Step
from sitebot.demo import HERE
from sitebot.metrics import Metrics
from sitebot.respond import Desk
from sitebot.respond.briefs import evening, morning
from sitebot.respond.roster import ask
from sitebot.respond.shifts import shift_of
from sitebot.running import Keeper, Running
from sitebot.site import read_site_file
from sitebot.stage import SITE, Stage
from sitebot.wording import render_all
from tests.sms.office import AMARO, NOON, WILDA, PaperLine, texted
from tests.sms.test_courtesy import Clock, said

EARLY = datetime(2026, 4, 14, 4, 0, tzinfo=read_site_file(HERE / "site.toml").tz).astimezone(UTC)


@pytest.fixture
def stage():
    stage = Stage(read_site_file(HERE / "site.toml"), EARLY)
    stage.sent()
    return stage


def known(stage, name, standing, after_min=1):
    """The channel keeps this of somebody's number; what goes out because of it, as (to, text)."""
    stage.journal.keep(SITE, [], {f"who/{stage.addresses[name]}": standing.to_json()}, "sms")
    stage.now += timedelta(minutes=after_min)
    stage.app.tick(SITE, stage.now)
    return heard(stage)


def heard(stage):
    return [(stage.name_of(o.address), o.text) for _, o in stage.sent()]


MISSED = Standing(missed=2, missed_at="2026-04-14T04:00:00")


def test_the_lead_hears_once_that_it_begins_and_once_that_it_ends(stage):
    """One notice each, however often it is looked; the log knows it meanwhile."""
    assert known(stage, "Tobin", Standing(missed=1)) == []
    ((to, text),) = known(stage, "Tobin", MISSED)
    assert (to, text.split(".")[0]) == ("Wilda", "Texts to Tobin do not arrive")
    assert known(stage, "Tobin", Standing(missed=5)) == []
    with stage.journal.log(SITE) as log:
        assert list(log.unreached().values()) == ["missed"]
    assert known(stage, "Tobin", Standing()) == [("Wilda", "Texts reach Tobin again.")]
    with stage.journal.log(SITE) as log:
        assert log.unreached() == {}


def test_a_lead_who_is_not_reached_is_told_of_to_the_next(stage):
    """No other lead there: the superintendent hears."""
    assert [to for to, _ in known(stage, "Wilda", MISSED)] == ["Garrick"]


def test_reminders_go_round_who_is_not_reached(stage):
    """The preheat line goes to the crew at once instead of to a phone that is off; and back when it is on again."""
    known(stage, "Wilda", MISSED)
    stage.run_to(EARLY + timedelta(hours=2, minutes=10))
    assert {to for to, text in heard(stage) if "plug" in text.lower() or "conect" in text.lower()} == {"Amaro", "Tobin"}
    known(stage, "Wilda", Standing())
    stage.run_to(EARLY + timedelta(hours=2, minutes=40))
    assert "Wilda" in {to for to, _ in heard(stage)}


def test_a_line_that_is_not_pressing_goes_round_as_well(stage):
    """The sample weld before the start is somebody's matter too when the only lead has no signal."""
    known(stage, "Wilda", MISSED)
    stage.say("Tobin", "iron 1 is plugged in and hot, 372")
    heard(stage)
    stage.run_to(EARLY + timedelta(hours=3, minutes=5))
    assert {"Amaro", "Tobin"} <= {
        to for to, text in heard(stage) if "sample" in text.lower() or "muestra" in text.lower()
    }


def test_with_nobody_else_the_pressing_is_tried_anyway(stage):
    """Everybody out of reach: the lead's phone is tried, or nobody would hear of a cold or a hot iron."""
    for name in ("Amaro", "Tobin", "Garrick", "Ines", "Wilda"):
        known(stage, name, MISSED)
    stage.run_to(EARLY + timedelta(hours=2, minutes=10))
    assert [to for to, _ in heard(stage)] == ["Wilda"]


def test_a_matrix_name_reaches_him_all_the_same(stage):
    """Somebody with another way to be reached is not out of reach."""
    from sitebot.entries import PersonJoined

    with stage.journal.turn(SITE, stage.now) as turn:
        tobin = next(p for p in turn.log.people() if p.name == "Tobin")
        both = ("@tobin:example.org", *tobin.addresses)
        turn.record([PersonJoined(person=tobin.id, role="crew", name="Tobin", addresses=both)])
    assert known(stage, "Tobin", MISSED) == []


def test_his_own_stop_is_told_once_not_twice(stage):
    """STOP is an entry of its own and told by it; what the channel keeps of it adds nothing."""
    stage.channel.name = "sms"
    stage.say("Tobin", "STOP")
    assert [to for to, _ in heard(stage)] == ["Tobin", "Wilda"]
    assert known(stage, "Tobin", Standing(stopped="2026-04-14T04:00:00", stopped_by="person")) == []


def test_who_cannot_be_reached_is_answered_and_stands_in_the_briefs(stage):
    """By name with the reason; nobody: that is said. Morning and evening have the names."""
    with stage.journal.log(SITE) as log:
        desk = Desk(stage.now, stage.now, None, stage.site, log, stage.app.rules)
        assert render_all(ask(Act("ask_crew", {"unreached": True}), desk).says, "en").startswith(
            "Texts reach everybody"
        )
    known(stage, "Tobin", MISSED)
    known(stage, "Amaro", Standing(stopped="2026-04-14T04:00:00", stopped_by="network"))
    with stage.journal.log(SITE) as log:
        desk = Desk(stage.now, stage.now, None, stage.site, log, stage.app.rules)
        text = render_all(ask(Act("ask_crew", {"unreached": True}), desk).says, "en")
        assert text == "Not reached: Amaro (blocked by the network), Tobin (texts do not arrive)."
        shift = shift_of(stage.now.date(), stage.site, log, stage.now, "")
        for brief in (morning, evening):
            assert "Texts do not reach Amaro and Tobin." in render_all(brief(shift, stage.site, log, stage.now), "en")


async def test_two_texts_that_no_phone_took_and_one_that_came_back(office):
    """The channel counts failures in a row; a text from that phone, or one that arrives, ends it."""
    clock, paper = Clock(NOON), PaperLine()
    async with office.open(paper, now=clock) as channel:
        for key in ("k1", "k2"):
            ref = await channel.send(texted(AMARO, f"hola {key}", key))
            await channel.note([Receipt(Step.FAILED, ref=ref)])
        assert channel.unreachable() == {AMARO: "not reached"}
        await said(channel, AMARO, "aqui estoy", clock)
        assert channel.unreachable() == {}
        for key in ("k3", "k4"):
            ref = await channel.send(texted(WILDA, f"hello {key}", key))
            await channel.note([Receipt(Step.FAILED, ref=ref)])
        ref = await channel.send(texted(WILDA, "hello k5", "k5"))
        await channel.note([Receipt(Step.DELIVERED, ref=ref)])
        assert channel.unreachable() == {}


def test_a_change_is_looked_at_with_the_next_beat(stage):
    """Not only with the hour: what the channel keeps of a number wakes every site's look."""
    running = Running(stage.app, {}, SITE, Metrics())
    running._looked[SITE] = stage.now
    Keeper(running, "sms")._keep([], {"sent/001": "{}"})
    assert running._looked
    Keeper(running, "sms")._keep([], {f"who/{AMARO}": MISSED.to_json()})
    assert running._looked == {}
