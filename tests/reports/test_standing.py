"""The day's report sent by itself after the shift, to those who asked for it, until they want no more."""

import asyncio
import io
from datetime import UTC, datetime, timedelta

import pypdf
import pytest

from sitebot.acts import Act, Reading
from sitebot.channels.memory import MemoryChannel
from sitebot.outbox import send_due
from sitebot.site import site_of
from sitebot.stage import SITE, Stage
from sitebot.understand import read
from tests.reports.test_photo_talk import FILE

START = datetime(2026, 3, 10, 14, 0, tzinfo=UTC)
PEOPLE = [
    *FILE["people"],
    {"name": "Sunniva", "role": "superintendent", "language": "es", "matrix": "@sun:site.example"},
]
#: The reading of these words is tested elsewhere; here it is told.
TOLD = {
    "every day please": Act("ask_report", {"standing": True}),
    "no more reports": Act("ask_report", {"standing": False}),
    "each welder": Act("ask_report", {"about": "welders"}),
}


class Matrix(MemoryChannel):
    name = "matrix"
    carries_pictures = True


@pytest.fixture
def stage():
    """A shift from 7:00 to 15:30 at UTC-6, all other reminders off."""
    off = {"cover": False, "melt_test": False, "rework": False, "pack": False, "report": False}
    made = Stage(site_of({**FILE, "people": PEOPLE, "reminding": off}, "test"), START)
    made.app.reader = lambda text, context: Reading((TOLD[text],)) if text in TOLD else read(text, context)
    return made


def reports(stage, until):
    """What went out of reports by then: address, time at the site, text, file."""
    stage.sent()
    stage.run_to(until)
    phone, matrix = MemoryChannel(), Matrix()
    times = {out.key: at for at, out in stage.journal.queued_at(SITE)}
    asyncio.run(send_due(stage.journal, {"memory": phone, "sms": phone, "matrix": matrix}, stage.now))
    return [
        (stage.name_of(o.address), f"{times[o.key].astimezone(stage.site.tz):%d %H:%M}", o.text, o.media)
        for o in [*phone.sent, *matrix.sent]
        if "daily_report" in o.key or o.media  # beside the seal it is part of one text
    ]


def test_after_each_shift_with_work(stage):
    """Who asked gets it 45 minutes after the end; a day without a splice is silent; the next one is sent again."""
    stage.say("Ottoline", "every day please")
    stage.say("Bram", "2 butts at east wall")
    first = reports(stage, START + timedelta(hours=12))
    assert [(who, at) for who, at, _, _ in first] == [("Ottoline", "10 16:15")]
    assert "2 made, 0 accepted, 0 rejected, 2 not inspected" in first[0][2]
    assert reports(stage, START + timedelta(hours=36)) == []
    stage.run_to(START + timedelta(hours=48))
    stage.say("Bram", "1 butt at east wall")
    assert [at for _, at, _, _ in reports(stage, START + timedelta(hours=60))] == ["12 16:15"]


def test_nobody_who_did_not_ask(stage):
    """Without the choice nothing is sent."""
    stage.say("Bram", "2 butts at east wall")
    assert reports(stage, START + timedelta(hours=12)) == []


def test_no_more_reports(stage):
    """The choice holds until it is taken back, and only for who made it."""
    for who in ("Ottoline", "Iris"):
        stage.say(who, "every day please")
    stage.say("Ottoline", "no more reports")
    stage.say("Bram", "2 butts at east wall")
    assert [who for who, *_ in reports(stage, START + timedelta(hours=12))] == ["Iris"]


def test_pdf_where_it_can_be_carried_in_his_language(stage):
    """On Matrix the PDF comes with it, in Spanish for whom it is so, and it is the record of that day."""
    stage.say("Sunniva", "every day please")
    stage.say("Bram", "2 butts at east wall")
    with stage.journal.turn(SITE, stage.now) as turn:
        talk = turn.talk("p5")[1]
        turn.keep_talk("p5", {**talk, "channel": "matrix"})
    [(who, _, text, media)] = reports(stage, START + timedelta(hours=12))
    assert who == "Sunniva"
    assert "2 hechos" in text
    assert [m.mime for m in media] == ["application/pdf"]
    page = " ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(media[0].data)).pages)
    assert "Reporte diario de empalmes" in page
    assert page.count("east wall") >= 3


def test_on_a_phone_line_the_short_text_and_where_the_paper_is(stage):
    """A phone carries no PDF: the figures, and where to get it; one part."""
    stage.say("Ottoline", "every day please")
    stage.say("Bram", "2 butts at east wall")
    with stage.journal.turn(SITE, stage.now) as turn:
        turn.keep_talk("p1", {**turn.talk("p1")[1], "channel": "sms"})
    [(_, _, text, media)] = reports(stage, START + timedelta(hours=12))
    assert "PDF: by Matrix or in the office." in text
    assert len(text) <= 160
    assert media == ()


def test_who_wants_no_texts_gets_no_report(stage):
    """STOP is stronger than the standing choice."""
    stage.say("Ottoline", "every day please")
    stage.say("Ottoline", "STOP")
    stage.say("Bram", "2 butts at east wall")
    assert reports(stage, START + timedelta(hours=12)) == []


def test_a_shift_moved_or_called_off_moves_it(stage):
    """Rained out at noon after two splices: the report comes 45 minutes after that."""
    stage.say("Ottoline", "every day please")
    stage.say("Bram", "2 butts at east wall")
    stage.run_to(START + timedelta(hours=4))
    stage.say("Ottoline", "rained out, no more work today")
    stage.say("Bram", "iron unplugged")  # else it is asked for until then, and the report comes in one text with that
    assert [at for _, at, _, _ in reports(stage, START + timedelta(hours=12))] == ["10 12:45"]


def test_figures_of_welders_never_stand_in_a_crew_room():
    """Asked in the crew's room they go to the one who asked; the room gets a word that they did."""
    from sitebot.telling import is_personal

    assert is_personal([TOLD["each welder"]])
    assert not is_personal([Act("ask_report", {"period": "today"})])
