"""How a temperature was measured: kept and shown where somebody told, empty where nobody did."""

import pytest

from sitebot.journal.check import check
from sitebot.reports.daily import daily
from sitebot.reports.daily_pages import document
from sitebot.reports.document import Lines, Table
from sitebot.reports.dossier import document as dossier_pages
from sitebot.reports.dossier import dossier
from sitebot.reports.export import rows
from sitebot.reports.opened import read_from
from sitebot.reports.story import story


def exported(stage):
    with stage.journal.log(stage.name) as log:
        return {r["number"]: (r["temp_f"], r["temp_by"]) for r in rows(log, stage.site.tz)}


@pytest.mark.parametrize(
    ("text", "way"),
    [
        ("2 butts ring wall A, iron 1, 372 by ir gun", "infrared"),
        ("2 butts ring wall A, iron 1, 372 with the contact probe", "contact"),
        ("2 rectos en ring wall A, plancha 1, 372 con termopar", "contact"),
        ("2 rectos ring wall A, plancha 1, 372 segun la perilla", "dial"),
        ("2 butts ring wall A, iron 1, 372 on the pyro", "pyrometer"),
        ("2 butts ring wall A, iron 1, 372", None),
        ("2 butts ring wall A, iron 1, 372, no pyro today", None),
    ],
)
def test_a_splice_says_how_its_heat_was_measured(stage, text, way):
    """In both languages; empty where nobody said, or only that there was none."""
    stage.say("Tobin", text)
    assert exported(stage) == {1: (372.0, way), 2: (372.0, way)}
    assert list(check(stage.journal, stage.name)) == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("iron 1 372 by ir gun", [("1", 372.0, "infrared")]),
        ("plancha 1 a 372 con pistola infrarroja", [("1", 372.0, "infrared")]),
        ("iron 1 at 368 on the dial", [("1", 368.0, "dial")]),
        ("la plancha 2 a 365 segun el termometro de contacto", [("2", 365.0, "contact")]),
        ("iron 1 372 by ir gun, iron 2 366 on the dial", [("1", 372.0, "infrared"), ("2", 366.0, "dial")]),
        ("iron 1 is reading 392, easing the dial down", [("1", 392.0, None)]),
    ],
)
def test_a_reading_says_how(stage, log, text, told):
    """Each heat has the way that stands with it; an instrument that is only touched measured nothing."""
    stage.say("Tobin", text)
    events = log(lambda log: log.iron_events(None))
    assert [(e.iron, e.temp_f, e.temp_by) for e in events] == told


def test_it_is_corrected_and_told_afterwards(stage, does):
    """A second report of the number, and a correction, each as an entry."""
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A", temp_f=372)
    assert "contact probe" in does("Tobin", "amend", target=1, change={"temp_by": "contact"})
    assert exported(stage)[1] == (372.0, "contact")
    assert "371 F" in does("Tobin", "amend", target=1, change={"temp_f": 371, "temp_by": "infrared"})
    assert exported(stage)[1] == (371.0, "infrared")


def test_story_report_and_dossier_show_it(stage):
    """The splice's story, the day's report with the irons, the dossier's remarks and readings; in both languages."""
    stage.say("Wilda", "iron 1 370 on the dial")
    stage.say("Tobin", "1 butt ring wall A, iron 1, 372 by ir gun")
    stage.say("Tobin", "1 butt ring wall A, iron 1, 371")
    with read_from(stage.journal, stage.name, stage.now) as (desk, head):
        for language, gun, dial in (("en", "infrared gun", "iron's dial"), ("es", "pistola infrarroja", "perilla")):
            assert any(gun in line for line in story(1, desk, language, with_history=False))
            assert not any(gun in line for line in story(2, desk, language, with_history=False))
            day = _words(document(daily(desk, desk.day, head), desk, language))
            assert gun in day
            assert f"370 F ({'' if language == 'en' else 'la '}" in day
            paper = _words(dossier_pages(dossier(desk, "ring wall A", head), desk, language))
            assert gun in paper
            assert dial in paper


def _words(paper):
    """Every line and cell of a document."""
    found = [text for fact in paper.facts for text in fact]
    for block in paper.blocks:
        if isinstance(block, Lines):
            found += block.lines
        if isinstance(block, Table):
            found += [cell for row in block.rows for cell in row]
    return " | ".join(found)
