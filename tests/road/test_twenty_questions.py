"""Twenty questions of the trade, asked on the demo site, whose file names a profile: how short the answers are."""

from datetime import UTC, datetime

import pytest

from sitebot.demo import HERE
from sitebot.site import read_site_file
from sitebot.stage import Stage
from sitebot.wording.parts import fold, parts

QUESTIONS = {
    "what do i cut for a 90 flat": "45",
    "45 turn on edge what do I set": "22.5",
    "a flat turn of 30, what cut": "15",
    "inside angle 120 flat, what miter": "30",
    "how do i cut a tee": "45",
    "skew tee, branch at 60, what cuts": "60",
    "how do I cut a cross": "45",
    "corner turns 30 flat and climbs 20, what do i set": "14.5",
    "saw only goes to 45, need a 100 turn flat": "50",
    "que corte para 90 acostada": "45",
    "is 3/32 in gap ok on 3/8 thick": "Reject",
    "porosity in the weld, ok?": "Reject",
    "how hot should the iron be": "360-380 F",
    "iron on for 30 min, is it ready": "Not yet",
    "100 ft of 14 gauge cord ok for 2 irons": "12 AWG",
    "2 irons on a 3500 watt generator?": "1920 W",
    "can i cut the miter with a knife": "No knife",
    "can I tape over the iron face": "No",
    "what sample do i make in the morning": "sample butt weld",
    "can i pour water on the iron to cool it": "",
}
FEWEST = 18


def asked(question):
    """The reply to it as the first question of a day: then the guide specification has its say."""
    site = read_site_file(HERE / "site.toml")
    stage = Stage(site, datetime(2026, 4, 14, 7, 30, tzinfo=site.tz).astimezone(UTC))
    stage.sent()
    stage.say("Tobin", question)
    return " ".join(o.text for _, o in stage.sent() if o.kind == "reply")


def test_the_answers_are_short():
    """At least eighteen of twenty in one part of a text, none above two, each with its figure."""
    said = {question: asked(question) for question in QUESTIONS}
    assert [q for q, figure in QUESTIONS.items() if figure not in said[q]] == []
    counted = {q: len(parts(fold(text))) for q, text in said.items()}
    assert len(counted) == 20
    assert sum(n == 1 for n in counted.values()) >= FEWEST, counted
    assert max(counted.values()) <= 2


@pytest.mark.parametrize("word", ["more", "why?"])
def test_what_found_no_room_is_given_on_request(texts, word):
    """The long answer of a compound turn: mark and guide specification come with "more" and with "why?"."""
    assert "Mark" not in texts("Tobin", "corner turns 30 flat and climbs 20, what do i set")
    rest = texts("Tobin", word)
    assert "Mark 1.55 in back on 6 in" in rest
    assert "shop-made" in rest
