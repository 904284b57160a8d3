"""The road: one message, one transaction; nothing lost, nothing twice."""

from dataclasses import replace

import pytest

from sitebot.journal.check import check
from sitebot.journal.store import Turn
from sitebot.message import Incoming
from sitebot.telling import Teller

REPORT = "3 butts ring wall A, iron 1"


def splices(stage):
    with stage.journal.turn(stage.name, stage.now) as turn:
        return turn.log.splices()


def incoming(stage, text, external_id="x1", who="Tobin"):
    return Incoming("memory", external_id, stage.addresses[who], text, stage.now)


def test_a_report_is_recorded_and_answered(stage, texts):
    """A report becomes splices with numbers, and the reply names them."""
    reply = texts("Tobin", REPORT)
    assert "1-3" in reply
    assert [(s.number, s.place, s.kind, s.iron, s.status) for s in splices(stage)] == [
        (n, "ring wall A", "butt", "1", "pending") for n in (1, 2, 3)
    ]


def test_a_repeat_of_the_external_id_is_seen(stage):
    """The same (channel, external id) is answered and recorded once."""
    message = incoming(stage, REPORT)
    stage.app.receive(stage.name, message, stage.now)
    stage.app.receive(stage.name, message, stage.now)
    assert len(stage.sent()) == 1
    assert len(splices(stage)) == 3


def test_a_resend_with_a_new_id_is_one_message(stage):
    """The same text from the same person in the same minute counts once."""
    stage.app.receive(stage.name, incoming(stage, REPORT, "x1"), stage.now)
    stage.app.receive(stage.name, incoming(stage, REPORT, "x2"), stage.now)
    assert len(splices(stage)) == 3


def test_the_raw_text_is_kept_before_anything_else(stage, monkeypatch):
    """A failure while reading leaves the raw message in the inbox, to be answered by the sweep."""
    monkeypatch.setattr(stage.app, "reader", broken)
    with pytest.raises(Crash):
        stage.app.receive(stage.name, incoming(stage, REPORT), stage.now)
    assert stage.journal.waiting(stage.name) == [1]


class Crash(Exception):
    pass


def broken(*_, **__):
    raise Crash


STATIONS = ["reader", "desk", "context", "steps", "respond", "say"]
TELLS = ["notices"]
WRITES = ["record", "queue", "keep_talk", "answered", "keep_wakes"]


@pytest.mark.parametrize("station", STATIONS + TELLS + WRITES)
@pytest.mark.parametrize("late", [False, True], ids=["before", "after"])
def test_a_crash_between_the_stations_loses_and_doubles_nothing(stage, monkeypatch, station, late):
    """Raise in a station, before or after its work; the sweep then answers once and records once."""
    owner = stage.app if station in STATIONS else Teller if station in TELLS else Turn
    whole = getattr(owner, station)

    def crash(*args, **kwargs):
        if late:
            whole(*args, **kwargs)
        raise Crash

    monkeypatch.setattr(owner, station, crash)
    with pytest.raises(Crash):
        stage.app.receive(stage.name, incoming(stage, REPORT), stage.now)
    assert splices(stage) == []
    assert stage.sent() == []
    monkeypatch.undo()
    stage.app.sweep(stage.name, stage.now)
    stage.app.sweep(stage.name, stage.now)
    assert [s.number for s in splices(stage)] == [1, 2, 3]
    assert len([o for _, o in stage.sent() if o.kind == "reply"]) == 1
    assert list(check(stage.journal, stage.name)) == []


def test_a_message_that_always_fails_is_set_aside(stage, monkeypatch):
    """After three tries a message that breaks us no longer stops the ones behind it."""
    stage.journal.keep(stage.name, [incoming(stage, "breaks", "x1"), incoming(stage, REPORT, "x2")])
    whole = stage.app.reader
    monkeypatch.setattr(stage.app, "reader", lambda text, c: broken() if text == "breaks" else whole(text, c))
    for _ in range(2):
        with pytest.raises(Crash):
            stage.app.sweep(stage.name, stage.now)
    stage.app.sweep(stage.name, stage.now)
    assert [s.number for s in splices(stage)] == [1, 2, 3]
    assert stage.journal.waiting(stage.name) == []


def test_a_stranger_is_refused_once_a_day(stage, texts):
    """A number that is not on the roster gets one polite refusal and no job data."""
    first = texts("303-555-0199", "how many splices today")
    assert "crew list" in first
    assert "ring wall" not in first
    assert texts("303-555-0199", "how many splices at ring wall A") == ""
    assert splices(stage) == []


def test_why_gives_arithmetic_and_source(texts):
    """ "why?" after an answer gives how it was worked out."""
    texts("Tobin", "whats the cut for a 90 flat corner")
    assert "90 / 2 = 45" in texts("Tobin", "why?")


def test_the_reply_is_in_the_language_of_the_roster(texts):
    """Amaro reads Spanish, whatever he writes."""
    assert "Anotado" in texts("Amaro", "1 butt ring wall A")


def test_a_chain_holds_after_a_talk(stage, texts):
    """The log is whole after reports, a correction, a verdict and a rework."""
    for who, text in [
        ("Tobin", REPORT),
        ("Tobin", "wait only 2"),
        ("Ines", "1 accept, 2 rejected, pores"),
        ("Tobin", "redid 2"),
    ]:
        texts(who, text)
    assert list(check(stage.journal, stage.name)) == []
    assert {s.number: s.status for s in splices(stage)} == {1: "accepted", 2: "rejected", 3: "voided", 4: "pending"}


def test_an_incoming_time_without_zone_is_refused(stage):
    """A naive time never enters the journal."""
    message = replace(incoming(stage, REPORT), received_at=stage.now.replace(tzinfo=None))
    with pytest.raises(Exception, match="zone"):
        stage.app.receive(stage.name, message, stage.now)


def test_why_after_a_report_does_not_explain_an_older_answer(texts):
    """The reason of a cut is no reason of the report that came after it; a thank you leaves it standing."""
    texts("Tobin", "whats the cut for a 90 flat corner")
    texts("Tobin", "thanks")
    assert "90 / 2 = 45" in texts("Tobin", "why?")
    texts("Tobin", "1 butt ring wall A")
    assert "45" not in texts("Tobin", "why ?")
