"""Whatever comes in: no exception, nothing recorded from noise, one short reply or none."""

import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sitebot.readout import read_one
from sitebot.respond import HANDLERS
from sitebot.rulebook import Rulebook, rules_folder

RULES = Rulebook.load(rules_folder())
#: 10,000 by hand (SITEBOT_MANY=1), fewer in every run.
MANY = 10_000 if os.environ.get("SITEBOT_MANY") else 400
ODD = [
    "\x00",
    "\ud800",
    "\u200b",
    "\u202e",
    "\u200f",
    "\ufeff",
    "\u0301",
    "\t",
    "\n",
    "'",
    '"',
    "%s",
    "{0}",
]


@pytest.fixture(scope="module")
def now():
    from datetime import UTC, datetime

    return datetime(2026, 4, 14, 15, 0, tzinfo=UTC)


def noise():
    """Bytes read as Latin-1, lone surrogates, NULs, marks nobody sees, in any mixture."""
    random_bytes = st.binary(max_size=300).map(lambda b: b.decode("latin-1"))
    odd = st.lists(st.sampled_from(ODD) | st.characters(codec=None), max_size=40).map("".join)
    # A number or a fraction with hardly a letter beside it is a message: "372" is a reading.
    return (random_bytes | odd).filter(lambda text: not re.fullmatch(r"\W*[\d¼½¾]{1,4}\W*\w{0,2}\W*", text))


@settings(
    max_examples=MANY, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(text=noise())
def test_noise_is_never_recorded_and_never_raises(text, now):
    """Random bytes record nothing and get one short reply or none."""
    result = read_one(text, "crew", RULES, now)
    # "ok" and "1" acknowledge; without a reminder behind them that keeps nothing.
    assert result["outcome"] != "record" or [a["act"] for a in result["acts"]] == ["ack"]
    assert len(result["reply"]) <= 459


@pytest.mark.parametrize("text", ["a" * 65536, "9 " * 32768, "splice " * 9000, "\u202e" * 65536, "1/" * 30000])
def test_a_text_of_64_kb_is_read_in_reason(text, now):
    """64 KB texts record nothing and get a short reply."""
    result = read_one(text, "crew", RULES, now)
    assert result["outcome"] != "record"
    assert len(result["reply"]) <= 459


def test_noise_on_a_real_site_leaves_the_log_alone(stage):
    """Odd texts through the whole road: nothing is recorded and the road goes on."""
    for i, odd in enumerate(ODD):
        stage.say("Tobin", odd * (i + 1))
        stage.now += __import__("datetime").timedelta(minutes=2)
    with stage.journal.turn(stage.name, stage.now) as turn:
        assert turn.log.splices() == []
        assert turn.log.samples(None) == []


def test_every_act_has_its_handler():
    """Every act that can be read can be answered."""
    from sitebot.acts import ACTS

    assert set(HANDLERS) | {"ask_why", "ask_more"} == set(ACTS)
