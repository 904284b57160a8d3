"""A message changed, taken back, or answered with a sign: the record only grows, and nothing is guessed."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from sitebot.acts import Act, Reading, Unclear
from sitebot.journal.check import check

THUMB, DOWN = "\U0001f44d", "\U0001f44e"


def edit(crew, who, text, original=None, say=None):
    """The writer changes the wording of a message; what came back, as one text."""
    (say or crew.alone)(who, text, edits=original or crew.last)
    return crew.text()


def test_an_edit_of_the_place_corrects_the_record(crew):
    """The splices stand at the new place, each by an entry that names it and what was; one short line, tied to it."""
    crew.alone("Tobin", "2 butts ring wall A done")
    original = crew.last
    reply = edit(crew, "Tobin", "2 butts floor joint 2 done")
    assert ("floor joint 2" in reply, len(reply) < 80, crew.out[0].reply_to) == (True, True, original)
    assert [s.place for s in crew.splices().values()] == ["floor joint 2"] * 2
    with crew.stage.journal.turn(crew.stage.name, crew.stage.now) as turn:
        last = turn.log.history(2)[-1]
    assert (last.kind, last.body["was"]) == ("SpliceCorrected", {"place": "ring wall A"})
    assert list(check(crew.stage.journal, crew.stage.name)) == []


@pytest.mark.parametrize(("text", "numbers"), [("4 butts ring wall A done", 4), ("2 butts ring wall A done", 2)])
def test_an_edit_of_the_count(crew, text, numbers):
    """More get new numbers, fewer void the last."""
    crew.alone("Tobin", "3 butts ring wall A done")
    edit(crew, "Tobin", text)
    assert len([s for s in crew.splices().values() if s.status != "voided"]) == numbers


def test_an_edit_of_count_and_kind_at_once(crew):
    """Both differences are corrected, also for the splices that the new count brings."""
    crew.alone("Tobin", "2 butts floor joint 2 done")
    edit(crew, "Tobin", "3 tees floor joint 2 done")
    assert [s.kind for s in crew.splices().values()] == ["tee"] * 3


def test_a_second_edit_is_compared_with_the_first(crew):
    """Only what the last change changed is corrected."""
    crew.alone("Tobin", "2 butts ring wall A done")
    original = crew.last
    edit(crew, "Tobin", "2 tees ring wall A done", original)
    edit(crew, "Tobin", "2 tees floor joint 2 done", original)
    assert [(s.kind, s.place) for s in crew.splices().values()] == [("tee", "floor joint 2")] * 2


@pytest.mark.parametrize("text", ["2 butts ring wall A done", "2 butts  ring wall A done!"])
def test_an_edit_that_says_the_same_is_left_alone(crew, text):
    """A comma more or less is answered by nothing."""
    crew.alone("Tobin", "2 butts ring wall A done")
    assert edit(crew, "Tobin", text) == ""


def test_an_edit_of_a_number(crew):
    """A splice told by a wrong number is renumbered."""
    crew.alone("Tobin", "splice 7 butt ring wall A done")
    edit(crew, "Tobin", "splice 8 butt ring wall A done")
    assert list(crew.splices()) == [8]


def test_an_edit_of_a_verdict(crew):
    """The inspector's changed word is a new verdict that corrects the old."""
    crew.alone("Tobin", "2 butts ring wall A done")
    crew.alone("Ines", "1 good")
    edit(crew, "Ines", "1 rejected, pores")
    assert crew.splices()[1].status == "rejected"


@pytest.mark.parametrize(
    "text", ["2 butts done", "1 rejected, pores", "1 butt ring wall A and 1 tee floor joint 2 done"]
)
def test_what_is_not_plain_is_asked(crew, text):
    """A place taken away, another kind of report: the log stays and the writer is asked."""
    crew.alone("Tobin", "2 butts ring wall A done")
    before = crew.splices()
    assert "correct" in edit(crew, "Tobin", text)
    assert crew.splices() == before


def test_an_edit_that_is_no_report_any_more_asks_whether_to_void(crew):
    """A report turned into a plan or into talk: void? Yes settles it."""
    crew.alone("Tobin", "2 butts ring wall A done")
    assert "Void #1, 2?" in edit(crew, "Tobin", "we need 2 butts at ring wall A tomorrow")
    crew.alone("Tobin", "yes")
    assert {s.status for s in crew.splices().values()} == {"voided"}


def test_an_edit_of_a_question_is_answered_anew(crew):
    """The new question gets its answer; in a crew room as well, since the first wording was answered."""
    crew.say("Tobin", "what angle for a 60 kick flat")
    assert "45" in edit(crew, "Tobin", "what angle for a 90 kick flat", say=crew.say)


def test_small_talk_changed_into_a_report_counts(crew):
    """What was left alone is read anew."""
    crew.say("Tobin", "4 tacos for me")
    edit(crew, "Tobin", "4 butts ring wall A done", say=crew.say)
    assert len(crew.splices()) == 4


def test_a_decided_splice_is_not_changed_by_an_edit(crew):
    """Once the verdict stands, its place changes only by who may judge; the edit is kept as a wish."""
    crew.alone("Tobin", "1 butt ring wall A done")
    original = crew.last
    crew.alone("Ines", "1 good")
    edit(crew, "Tobin", "1 butt floor joint 2 done", original)
    assert crew.splices()[1].place == "ring wall A"


def test_nobody_edits_another_ones_report(crew):
    """An edit that names a message of somebody else is read as a text of its own sender."""
    crew.alone("Tobin", "2 butts ring wall A done")
    crew.alone("Amaro", "jaja si", edits=crew.last)
    assert len(crew.splices()) == 2


@pytest.mark.parametrize(("answer", "status"), [("yes", "voided"), ("sí", "voided"), ("no", "pending")])
def test_a_deleted_report_is_voided_by_a_yes(crew, answer, status):
    """ "Void 1-2?" and nothing changes until the answer."""
    crew.alone("Tobin", "2 butts ring wall A done")
    crew.alone("Tobin", retracts=crew.last)
    assert ("Void" in crew.text(), crew.splices()[1].status) == (True, "pending")
    crew.alone("Tobin", answer)
    assert {s.status for s in crew.splices().values()} == {status}


def test_a_deleted_verdict_is_taken_back_by_a_yes(crew):
    """The splice is pending again."""
    crew.alone("Tobin", "1 butt ring wall A done")
    crew.alone("Ines", "1 good")
    crew.alone("Ines", retracts=crew.last)
    crew.alone("Ines", "yes")
    assert crew.splices()[1].status == "pending"


def test_a_deleted_reading_stays_and_he_is_told(crew):
    """A heat that was reported is part of the log; its writer is asked for the right one."""
    crew.alone("Tobin", "iron 1 at 372")
    crew.alone("Tobin", retracts=crew.last)
    assert "stays in the log" in crew.text()


@pytest.mark.parametrize("text", ["what angle for a 60 kick flat", "see you at lunch"])
def test_a_deleted_question_asks_nothing(crew, text):
    """Nothing was recorded: nothing is asked."""
    crew.alone("Tobin", text)
    assert crew.alone("Tobin", retracts=crew.last) == []


def test_who_clears_old_talk_is_not_asked(crew):
    """After a day a deletion is tidying up."""
    crew.alone("Tobin", "1 butt ring wall A done")
    report = crew.last
    crew.later(days=2)
    assert crew.alone("Tobin", retracts=report) == []


def test_two_deletions_in_one_minute_are_two(crew):
    """Deletions have no text; the second is no repeat of the first."""
    crew.alone("Tobin", "1 butt ring wall A done")
    first = crew.last
    crew.alone("Tobin", "1 tee floor joint 2 done")
    second = crew.last
    crew.alone("Tobin", retracts=first)
    crew.alone("Tobin", retracts=second)
    assert "2" in crew.text()


def sign(crew, who, key, on, say=None):
    return (say or crew.alone)(who, key, reaction=True, reply_to=on.key, addressed=True)


def asked_to_void(crew):
    crew.alone("Tobin", "1 butt ring wall A done")
    (question,) = crew.alone("Tobin", retracts=crew.last)
    return question


@pytest.mark.parametrize(("key", "status"), [(THUMB, "voided"), (DOWN, "pending"), ("\U0001f602", "pending")])
def test_a_thumbs_up_on_a_question_is_a_yes(crew, key, status):
    """Up is yes, down is no, laughter is nothing."""
    sign(crew, "Tobin", key, asked_to_void(crew))
    assert crew.splices()[1].status == status


def test_a_thumbs_up_on_another_message_is_no_answer(crew):
    """Only the very question is answered by it."""
    (answer,) = crew.alone("Tobin", "what angle for a 60 kick flat")
    asked_to_void(crew)
    assert sign(crew, "Tobin", THUMB, answer) == []
    assert crew.splices()[1].status == "pending"


def test_another_persons_thumb_is_no_answer(crew):
    """The question was to Tobin."""
    assert sign(crew, "Amaro", THUMB, asked_to_void(crew)) == []
    assert crew.splices()[1].status == "pending"


def test_a_thumbs_up_on_a_reminder_acknowledges_it(crew):
    """The very reminder is done, not yesterday's; "plugged in" stands in the log; a second thumb finds it settled."""
    crew.alone("Wilda", "see you at lunch")
    crew.stage.run_to(datetime(2026, 4, 15, 12, 1, tzinfo=UTC))
    old, *_, reminder = (out for _, out in crew.stage.sent() if "preheat" in out.key)
    assert sign(crew, "Wilda", THUMB, old) == []
    sign(crew, "Wilda", THUMB, reminder)
    assert "iron 1 on" in crew.text()
    assert sign(crew, "Tobin", THUMB, reminder) == []


def test_a_thumbs_up_on_an_answer_settles_no_reminder(crew):
    """Thanks for an answer while a reminder is open: nothing is taken as done."""
    crew.stage.run_to(datetime(2026, 4, 15, 12, 1, tzinfo=UTC))
    (answer,) = crew.alone("Wilda", "what angle for a 60 kick flat")
    assert sign(crew, "Wilda", THUMB, answer) == []
    with crew.stage.journal.turn(crew.stage.name, crew.stage.now) as turn:
        assert list(turn.log.irons_on()) == []


@pytest.mark.parametrize(("key", "made"), [(THUMB, 4), (DOWN, 0)])
def test_a_thumb_on_log_as_made(crew, key, made):
    """ "Log 4 as made? Or still to do?": up records them, down does not."""
    facts = {"count": 4, "joint": "butt", "place": "ring wall A"}
    which = ((Act("report_splices", facts),), (Act("plan_splices", facts),))
    read = crew.stage.app.reader
    crew.stage.app.reader = lambda text, context: Reading(unclear=Unclear("splices.made", which, {"count": 4}))
    (question,) = crew.alone("Tobin", "4 butts ring wall A")
    crew.stage.app.reader = read
    assert "Log 4 as made?" in question.text
    sign(crew, "Tobin", key, question)
    assert len(crew.splices()) == made
