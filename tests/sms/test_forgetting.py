"""A number that is forgotten: nothing the channel keeps has it any more, but its STOP holds."""

import json
from datetime import timedelta

import pytest

from sitebot.channels.sms.courtesy import Standing, digest
from sitebot.channels.sms.forgetting import asked, forgotten
from sitebot.channels.sms.line import Heard
from sitebot.entries import PersonErased
from sitebot.errors import Refused
from tests.codes.test_codes import Phones
from tests.sms.office import AMARO, NOON, STRANGER, WILDA, PaperLine, texted, until
from tests.sms.test_courtesy import Clock, said


async def used(channel, clock):
    """Everything a number leaves: greeting, texts, half a text, STOP."""
    for number in (AMARO, WILDA):
        await channel.send(texted(number, f"hola {number}", f"k{number}"))
        await channel.take([Heard(f"h{number}", number, "half ", clock.at, 7, 2, 1)])
    await channel.send(texted(STRANGER, "not on the list", "k3"))


async def test_a_number_is_gone_from_every_row(office, clock_and_paper):
    """Greeting, sent texts, halves, strangers; those of others stay as they were."""
    clock, paper = clock_and_paper
    async with office.open(paper, greeted=(), now=clock) as channel:
        await used(channel, clock)
        for number in (AMARO, STRANGER):
            await channel.forget(number)
        kept = json.dumps(office.state)
        assert AMARO not in kept
        assert STRANGER not in kept
        assert kept.count(WILDA) >= 3
        await channel.forget(AMARO)
        await channel.send(texted(WILDA, "another", "k4"))
    async with office.open(paper, greeted=(), now=clock) as channel:
        await channel.send(texted(WILDA, "after a restart", "k5"))
        assert AMARO not in json.dumps(office.state)


async def test_his_stop_holds(office, clock_and_paper):
    """The hash of the number is enough to leave it alone; START from it ends that."""
    clock, paper = clock_and_paper
    async with office.open(paper, now=clock) as channel:
        await said(channel, AMARO, "STOP", clock)
        await until(lambda: paper.texts)
        await channel.forget(AMARO)
        await until(lambda: AMARO not in json.dumps(office.state))
        assert channel.unreachable() == {}
        with pytest.raises(Refused, match="no more texts"):
            await channel.send(texted(AMARO, "hola"))
        await said(channel, AMARO, "START", clock)
        await channel.send(texted(AMARO, "hola"))


def test_nothing_to_forget_changes_nothing():
    """A number that is not there, and a channel that never kept anything."""
    assert forgotten({}, AMARO) == {}
    assert forgotten({f"who/{WILDA}": Standing(greeted="x").to_json()}, AMARO) == {}


async def test_erased_by_the_record_while_the_channel_runs(office, clock_and_paper):
    """The erasure clears the rows and leaves a hash; the channel forgets within a minute and takes the hash away."""
    clock, paper = clock_and_paper
    erased = []
    async with office.open(paper, now=clock, erased=lambda: list(erased)) as channel:
        await used(channel, clock)
        erased.append(digest(AMARO))
        clock.at += timedelta(seconds=61)
        await until(lambda: AMARO not in json.dumps(office.state))
        assert AMARO not in json.dumps(dict(channel.state))


def test_an_erasure_reaches_the_rows_of_the_channel():
    """Whoever is erased by the record is erased here: no row has his number, his STOP is kept as a hash."""
    phones = Phones()
    number = phones.stage.addresses["Tobin"]
    rows = {f"who/{number}": Standing(stopped="2026-04-14T04:00:00", stopped_by="person").to_json(), "strangers": "[]"}
    phones.stage.journal.keep("site", [], rows, "sms")
    with phones.stage.journal.turn("site", phones.stage.now) as turn:
        tobin = next(p for p in turn.log.people() if p.name == "Tobin")
        turn.record([PersonErased(person=tobin.id)])
    state = phones.stage.journal.channel_state("site", "sms")
    assert number not in json.dumps(state)
    assert len(asked(state)) == 1
    assert Standing.of(state, number).stopped


@pytest.fixture
def clock_and_paper():
    return Clock(NOON), PaperLine()
