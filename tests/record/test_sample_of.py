"""Which sample a splice rests on."""

from datetime import timedelta

from sitebot.record import sample_of
from sitebot.reports.export import rows


def rested(stage):
    """The times of the samples that the splices of the log rest on, as the export has them."""
    with stage.journal.turn(stage.name, stage.now) as turn:
        return {r["number"]: r["sample_at"] for r in rows(turn.log, stage.site.tz)}


def test_the_last_that_passed_for_its_iron_before_it_was_made(stage):
    """Two samples of iron 1, the second for the second weld; iron 2 has its own; what came before any rests on none."""
    said = [
        ("Tobin", "1 butt ring wall A, iron 1"),
        ("Wilda", "sample pass iron 1"),
        ("Tobin", "1 butt ring wall A, iron 1"),
        ("Wilda", "sample pass iron 1"),
        ("Tobin", "1 butt ring wall A, iron 1"),
        ("Tobin", "1 butt ring wall A, iron 2"),
    ]
    for who, text in said:
        stage.say(who, text)
        stage.now += timedelta(minutes=10)
    assert rested(stage) == {1: None, 2: "2026-04-14T07:40-06:00", 3: "2026-04-14T08:00-06:00", 4: None}


def test_it_stands_in_the_story_of_the_splice(stage):
    """`sitebot splice` names the sample's time and who told of it."""
    stage.say("Wilda", "sample pass iron 1")
    stage.say("Tobin", "1 butt ring wall A, iron 1")
    with stage.journal.turn(stage.name, stage.now) as turn:
        splice = turn.log.splice(1)
        (sample,) = turn.log.samples(splice.day)
        assert sample_of(splice, [sample]) == sample
