"""The samples gate: what asks for a new sample by the site's settings, and the hold until a profile is qualified."""

from datetime import timedelta

import pytest

from sitebot.journal.check import check
from sitebot.reports import daily_pages
from sitebot.reports import dossier as dossier_pages
from sitebot.reports.daily import daily
from sitebot.reports.export import rows
from sitebot.reports.opened import read_from
from sitebot.site import Samples, SiteFile
from sitebot.stage import load_site


@pytest.fixture
def wants(stage):
    """Load the site's settings for samples."""

    def load(**settings):
        file = stage.site
        assert isinstance(file, SiteFile)
        stage.site = file.model_copy(update={"samples": Samples(**settings)})
        with stage.journal.turn(stage.name, stage.now) as turn:
            load_site(turn, stage.site)

    return load


@pytest.fixture
def weld(stage, does, log):
    """A weld some minutes on: why it rests on no sample, as the log has it."""

    def make(minutes=5, who="Tobin", **facts):
        stage.now += timedelta(minutes=minutes)
        does(who, "report_splices", count=1, joint="butt", place="ring wall A", **facts)
        return log(lambda log: log.history(log.highest())[0].body["no_sample"])

    return make


@pytest.fixture
def sampled(does):
    return lambda **facts: does("Tobin", "report_sample", **{"verdict": "pass", "iron": "1", **facts})


def test_without_a_passed_sample_a_weld_is_recorded_and_marked(weld, sampled, stage):
    """None at all, then a failed one, then a passed one."""
    assert weld() == "none"
    sampled(verdict="fail")
    assert weld() == "failed"
    sampled()
    assert weld() is None
    assert list(check(stage.journal, stage.name)) == []


@pytest.mark.parametrize("event", ["power_cut", "unplugged", "fault"])
def test_an_iron_that_went_cold_needs_a_new_sample(weld, sampled, does, stage, wants, event):
    """After the power went, until another sample passes; a site may not ask for it."""
    sampled()
    stage.now += timedelta(minutes=5)
    does("Tobin", "report_iron", event=event, iron="1")
    assert weld() == "cold"
    wants(after_power_cut=False)
    assert weld() is None
    wants()
    sampled()
    assert weld() is None


def test_a_power_cut_leaves_the_iron_on(does, log, stage):
    """It comes back hot: a cut is no unplugging, and makes no iron on that was off."""
    does("Tobin", "report_iron", event="power_cut")
    assert log(lambda log: log.irons_on()) == []
    stage.now += timedelta(minutes=5)
    does("Tobin", "report_iron", event="plugged_in", iron="1")
    assert "comes back hot" in does("Tobin", "report_iron", event="power_cut")
    assert [i.iron for i in log(lambda log: log.irons_on())] == ["1"]
    assert "power is out" in stage.others["Wilda"]


def test_a_long_pause_needs_a_new_sample(weld, sampled, wants):
    """Counted from the last weld or sample; 0 turns it off."""
    sampled()
    assert weld(119) is None
    assert weld(119) is None
    assert weld(121) == "idle"
    wants(after_idle_min=0)
    assert weld(300) is None


def test_other_people_and_a_new_cover_only_where_the_site_asks(weld, sampled, wants, does, stage):
    """Off by default; on, they ask for a sample."""
    sampled(welders=["Tobin", "Amaro"])
    stage.now += timedelta(minutes=5)
    does("Tobin", "report_iron", event="cover_changed", iron="1")
    assert weld(welders=["Wilda"]) is None
    wants(after_people_change=True)
    assert weld(welders=["Tobin"]) is None
    assert weld(welders=["Tobin", "Wilda"]) == "people"
    wants(after_cover=True)
    assert weld(welders=["Tobin"]) == "cover"


def test_a_cut_after_the_weld_is_not_held_against_it(sampled, does, stage, log):
    """A late report counts at the time it was made."""
    sampled()
    stage.now += timedelta(minutes=30)
    does("Tobin", "report_iron", event="power_cut")
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A", at="7:40")
    assert log(lambda log: log.splice(1).before_sample) is False


def test_who_releases_hears_what_rests_on_no_sample(weld, sampled, does):
    """The superintendent and the inspector, with the numbers; it is told, not locked."""
    weld()
    sampled()
    weld()
    assert "no passed sample before: #1." in does("Garrick", "ask_pour", place="ring wall A")
    assert "no passed sample" not in does("Tobin", "ask_pour", place="ring wall A")


def test_a_profile_is_qualified_by_three_witnessed_samples(wants, does, stage):
    """Only what the inspector himself tells of a sample not his own counts; until then the place is held."""
    wants(qualify=3)
    does("Tobin", "report_splices", count=3, joint="butt", place="ring wall A")
    does("Tobin", "report_splices", count=1, joint="flat_corner", place="ring wall A")
    does("Ines", "report_inspection", place="ring wall A", verdict="accept")
    does("Tobin", "report_sample", verdict="pass", witness=["Ines"])
    for _ in range(2):
        stage.now += timedelta(minutes=5)
        reply = does("Ines", "report_sample", verdict="pass", witness=["me"])
    assert "2 of 3 witnessed samples" in reply
    assert "not qualified: 2 of 3" in does("Garrick", "ask_pour", place="ring wall A")
    assert "reason" in does("Garrick", "release_pour", place="ring wall A")
    stage.now += timedelta(minutes=5)
    does("Ines", "report_sample", verdict="fail", witness=["me"])
    assert "not qualified: 2 of 3" in does("Garrick", "ask_pour", place="ring wall A")
    stage.now += timedelta(minutes=5)
    does("Ines", "report_sample", verdict="pass", witness=["me"])
    assert "nothing open" in does("Garrick", "ask_pour", place="ring wall A")


@pytest.mark.parametrize(
    ("text", "witness"),
    [
        ("sample ok iron 1, Ines watched", ("Ines",)),
        ("muestra pasa plancha 1, vio el inspector", ("Ines",)),
        ("sample good iron 1, Amaro made it, witnessed by Garrick", ("Garrick",)),
        ("sample pass iron 1", ()),
    ],
)
def test_who_watched_a_sample_is_kept_and_shown_and_has_not_welded(stage, log, text, witness):
    """By name or role, in both languages; in the day's report, the dossier and the export; never as a welder."""
    stage.say("Tobin", text)
    stage.now += timedelta(minutes=5)
    stage.say("Tobin", "1 butt ring wall A, iron 1")
    (sample,) = log(lambda log: log.samples(None))
    assert tuple(log(lambda log: [log.name_of(w) for w in sample.witness])) == witness
    assert not set(sample.witness) & set(sample.welders)
    assert not sample.witnessed
    with read_from(stage.journal, stage.name, stage.now) as (desk, head):
        (row,) = rows(desk.log, desk.site.tz)
        papers = [
            daily_pages.document(daily(desk, desk.day, head), desk, "en"),
            dossier_pages.document(dossier_pages.dossier(desk, "ring wall A", head), desk, "en"),
        ]
    assert (row["sample_watched_by"] or "") == "; ".join(witness)
    for paper in papers:
        assert (f"watched by {'; '.join(witness)}" in str(paper)) == bool(witness)
