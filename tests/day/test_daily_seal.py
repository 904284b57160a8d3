"""The seal of the log, each evening of work, to who can keep it outside."""

import re

import pytest

from sitebot.journal.check import seal_fault
from tests.day.conftest import BARE, PEOPLE

SEAL = re.compile(r"\b\d+-[0-9a-f]{24}\b")
WITH_SEAL = {**BARE, "seal": True}


def seals(sent):
    return [(s.at, s.to) for s in sent if SEAL.search(s.text)]


def test_it_goes_out_without_briefs_to_the_superintendent_alone(clocked):
    """45 minutes after the end of Tuesday and Wednesday, one short line; a Saturday is silent."""
    day = clocked("2026-04-14T08:00", reminding=WITH_SEAL)
    sent = day.to("2026-04-15T17:00")
    assert seals(sent) == [("16:15", "Garrick")] * 2
    assert all(len(s.text) <= 160 for s in sent if SEAL.search(s.text))
    day.to("2026-04-18T00:10")
    assert seals(day.to("2026-04-19T23:00")) == []


def test_what_was_sent_holds_for_the_log_later(clocked):
    """The text, read by `sitebot check --seal` after more has happened."""
    day = clocked("2026-04-14T08:00", reminding=WITH_SEAL)
    (text,) = [s.text for s in day.to("2026-04-14T17:00") if s.to == "Garrick" and SEAL.search(s.text)]
    day.welds(2)
    assert seal_fault(day.stage.journal, day.stage.name, SEAL.search(text)[0]) is None
    assert seal_fault(day.stage.journal, day.stage.name, "3-" + "0" * 24) is not None


def test_it_is_on_where_nobody_says_otherwise(clocked):
    """The site file says nothing of it."""
    day = clocked("2026-04-14T08:00", reminding={k: v for k, v in BARE.items() if k != "seal"})
    assert seals(day.to("2026-04-14T17:00")) == [("16:15", "Garrick")]


def test_a_site_may_do_without(clocked):
    """seal = false under [reminding], or no superintendent: none."""
    assert seals(clocked("2026-04-14T08:00").to("2026-04-14T17:00")) == []
    people = [p for p in PEOPLE if p["role"] != "superintendent"]
    assert seals(clocked("2026-04-14T08:00", reminding=WITH_SEAL, people=people).to("2026-04-14T17:00")) == []


def test_it_rides_on_the_brief(clocked):
    """One text with both, the brief whole and within two parts."""
    day = clocked("2026-04-14T08:00", reminding=WITH_SEAL, briefs=True)
    day.welds(3)
    (text,) = [s.text for s in day.to("2026-04-14T16:16") if s.to == "Garrick" and s.at == "16:15"]
    assert SEAL.search(text)
    assert "3 splices" in text
    assert "To inspect" in text
    assert len(text) <= 306


@pytest.mark.parametrize(
    ("off", "on"),
    [
        ("seal off", "seal on"),
        ("sello no", "mandame el sello otra vez"),
        ("no more seals please", "send me the seal again"),
    ],
)
def test_a_word_ends_it_and_another_brings_it_back(stage, off, on):
    """By chat, in both languages; a seal asked for is given all the same."""
    stage.sent()
    stage.say("Garrick", off)
    assert "seal" in stage.sent()[0][1].text
    assert evening(stage, 14) == []
    stage.say("Garrick", "what is the seal?")
    assert SEAL.search(stage.sent()[0][1].text)
    stage.say("Garrick", on)
    stage.sent()
    assert set(evening(stage, 15)) == {"Garrick"}


def evening(stage, day):
    """Who got a seal by five in the afternoon."""
    stage.run_to(stage.now.replace(day=day, hour=23, minute=0))
    return [stage.name_of(o.address) for _, o in stage.sent() if SEAL.search(o.text)]
