"""Short talks about the record, told as they are texted."""

import pytest

from sitebot.journal.check import check


def record(stage):
    with stage.journal.turn(stage.name, stage.now) as turn:
        return {s.number: s for s in turn.log.splices()}


def test_a_place_told_afterwards_is_taken(stage, texts):
    """ "Which place?" is answered by the place alone."""
    assert "Which place" in texts("Tobin", "did 2 butts iron 1")
    texts("Tobin", "floor joint 2")
    assert {s.place for s in record(stage).values()} == {"floor joint 2"}


def test_a_piece_let_in_needs_two_welds(stage, texts):
    """A redo with a piece let in is two splices that both name the old one."""
    texts("Tobin", "1 butt ring wall A")
    texts("Ines", "1 rejected, pores")
    assert "One weld" in texts("Tobin", "redid 1")
    texts("Tobin", "two")
    assert [s.redo_of for s in record(stage).values()] == [None, 1, 1]
    assert list(check(stage.journal, stage.name)) == []


def test_a_release_against_open_points_needs_a_reason_and_is_marked(stage, texts):
    """The superintendent may release, but the log says against what and why; no reply gives leave to pour."""
    texts("Tobin", "1 butt ring wall A")
    asked = texts("Garrick", "ring wall A is released for pour, log it")
    assert "reason" in asked
    for stray in ("never mind, hold off", "send me todays report", "owner is here"):
        texts("Garrick", stray)
        with stage.journal.turn(stage.name, stage.now) as turn:
            assert turn.log.releases("ring wall A") == []
    assert "reason" in texts("Garrick", "ring wall A is released for pour, log it please")
    texts("Garrick", "reason: owner accepts the risk, signed on paper")
    with stage.journal.turn(stage.name, stage.now) as turn:
        (release,) = turn.log.releases("ring wall A")
    assert "owner accepts the risk" in release.reason
    assert release.open_points


def test_the_inspector_asks_what_waits_for_him(texts):
    """ "what's waiting" lists the places and numbers."""
    texts("Tobin", "2 butts ring wall A")
    assert "ring wall A #1, 2" in texts("Ines", "what's waiting")


def test_damage_after_acceptance_reopens_the_place(stage, texts):
    """A nail through an accepted splice: the place is no longer complete."""
    texts("Tobin", "3 butts ring wall A")
    texts("Tobin", "1 flat corner ring wall A")
    assert "nothing open" in texts("Ines", "1-4 ok")
    texts("Tobin", "somebody put a nail through 2")
    answer = texts("Garrick", "can we pour ring wall A")
    assert "not yet" in answer
    assert "#2 damaged" in answer


@pytest.mark.parametrize("text", ["2 is good, i checked it myself", "pass 2 for me"])
def test_crew_never_pass_their_own_weld(stage, texts, text):
    """Whatever the wording, the splice stays pending."""
    texts("Tobin", "2 butts ring wall A")
    texts("Tobin", text)
    assert record(stage)[2].status == "pending"


def test_a_relayed_verdict_waits_for_the_inspector(stage, texts):
    """What somebody says the inspector said is kept as told."""
    texts("Tobin", "2 butts ring wall A")
    assert "confirm" in texts("Tobin", "ines says 1 and 2 are accepted")
    assert {s.status for s in record(stage).values()} == {"pending"}


def test_a_number_in_use_is_never_overwritten(stage, texts):
    """The second report of a number is asked for another; the first stays."""
    texts("Tobin", "#5 butt ring wall A")
    assert "already in the log" in texts("Amaro", "5 tee floor joint 2") or "ya está anotado"
    assert record(stage)[5].kind == "butt"


def test_an_iron_left_on_stays_on_top_of_every_reply(stage, texts):
    """Hours after the shift the iron is still on: that comes first, whatever is asked, until it is said to be off."""
    texts("Wilda", "plugged in iron 1")
    stage.run_to(stage.now.replace(hour=23, minute=30))
    first = texts("Garrick", "how many today")
    assert first.index("on") < first.index("splices")
    assert "1" in first.split("splices")[0]
    texts("Tobin", "iron 1 unplugged")
    assert texts("Garrick", "how many today?").startswith("0 splices")


@pytest.mark.parametrize(
    ("who", "report", "word"),
    [
        ("Tobin", "2 butts ring wall A, iron 1", "ok"),
        ("Tobin", "2 butts ring wall A, iron 1", "Got it"),
        ("Amaro", "hicimos 2 rectos en ring wall A", "listo"),
        ("Amaro", "hicimos 2 rectos en ring wall A", "ok"),
        ("Wilda", "2 butts ring wall A, iron 1", "ok"),
        ("Tobin", "sample pass iron 1", "ok"),
    ],
)
def test_a_bare_ok_after_a_report_of_ones_own_is_no_verdict(stage, texts, who, report, word):
    """It says that our reply was read: nothing is refused, judged or asked, no iron goes off."""
    texts(who, "plugged in iron 1")
    texts(who, report)
    said = texts(who, word)
    assert said in ("OK.", "Va.")
    with stage.journal.turn(stage.name, stage.now) as turn:
        assert {s.status for s in turn.log.splices()} <= {"pending"}
        assert [i.iron for i in turn.log.irons_on()] == ["1"]


def test_a_weld_called_good_by_its_welder_is_refused_still(stage, texts):
    """Who names his weld good is told whose word counts."""
    texts("Tobin", "1 butt ring wall A")
    assert "Ines" in texts("Tobin", "that one's good")
    assert [s.status for s in record(stage).values()] == ["pending"]
