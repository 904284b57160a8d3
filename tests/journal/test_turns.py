"""Several turns in one commit, and what one turn remembers of the last: never more than what holds."""

import pytest

from sitebot.demo import HERE
from sitebot.entries import PersonErased
from sitebot.journal import Journal
from sitebot.journal.check import check
from sitebot.message import Incoming
from sitebot.site import read_site_file
from sitebot.stage import Stage
from tests.strength.test_faults import START
from tests.strength.workers import KEY


@pytest.fixture
def stages(database):
    """Two programs on one database."""
    site = read_site_file(HERE / "site.toml")
    both = [Stage(site, START, Journal(database, KEY)) for _ in range(2)]
    yield both
    for stage in both:
        stage.journal.close()


def kept(stage, *texts):
    sender = stage.addresses["Tobin"]
    return stage.journal.keep("site", [Incoming("memory", t, sender, t, START, START) for t in texts])


def numbers(stage):
    with stage.journal.turn("site", START) as turn:
        return [s.number for s in turn.log.splices()]


def fails_on(stage, word):
    """A reader that falls over on one word, after the messages before it were answered."""
    whole = stage.app.reader

    def reader(text, context):
        if word in text:
            raise ZeroDivisionError(word)
        return whole(text, context)

    stage.app.reader = reader


def test_a_bad_message_undoes_none_of_the_others(stages):
    """Of three with one commit the second makes us fail: the first is answered, the third waits behind the second."""
    stage = stages[0]
    fails_on(stage, "bad")
    rows = kept(stage, "1 butt ring wall A, 361 F", "bad", "1 butt ring wall A, 362 F")
    done, error = stage.app.handle_all("site", rows, START)
    assert (done, type(error)) == (1, ZeroDivisionError)
    assert stage.journal.waiting("site") == rows[1:]
    assert numbers(stage) == [1]
    assert len([o for _, o in stage.sent() if o.kind == "reply"]) == 1


def test_an_entry_of_an_undone_turn_never_was(stages):
    """A turn records, reads what it recorded and fails: the next one numbers as if it had not been."""
    stage = stages[0]
    rows = kept(stage, "1 butt ring wall A, 361 F", "1 butt ring wall A, 362 F")
    whole = stage.app.say
    stage.app.say = lambda steps, asked, desk, *rest: 1 / 0 if desk.log.highest() == 1 else None
    done, error = stage.app.handle_all("site", rows, START)
    assert (done, type(error)) == (0, ZeroDivisionError)
    stage.app.say = whole
    assert stage.app.handle_all("site", rows, START) == (2, None)
    assert numbers(stage) == [1, 2]
    assert list(check(stage.journal, "site")) == []


def test_nothing_is_queued_before_the_commit(stages):
    """While several messages are under way, nothing of theirs is there to be sent; after the commit all of it is."""
    stage = stages[0]
    rows = kept(stage, "1 butt ring wall A, 361 F", "how many today")
    stage.sent()
    with stage.journal.turns("site", START) as turns:
        for row in rows:
            with turns.each() as turn:
                stage.app.answer(turn, row, START)
        assert stages[1].journal.queued(START) == []
    assert len(stages[1].journal.queued(START)) == 2


def test_what_another_program_recorded_is_seen(stages):
    """Two programs take turns on one log: each numbers on from what the other recorded, and knows whom it erased."""
    for n in range(6):
        stage = stages[n % 2]
        (row,) = kept(stage, f"1 butt ring wall A, {361 + n} F")
        stage.app.handle("site", row, START)
        assert numbers(stage) == list(range(1, n + 2))
    with stages[0].journal.turn("site", START) as turn:
        (tobin,) = [p for p in turn.log.people() if p.name == "Tobin"]
        turn.record([PersonErased(person=tobin.id)])
    with stages[1].journal.turn("site", START) as turn:
        assert "Tobin" not in [p.name for p in turn.log.people()]
