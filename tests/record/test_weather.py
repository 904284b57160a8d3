"""Weather and shelter as told, findings of an inspection: kept as told, shown, never made up."""

import csv
import io
from datetime import timedelta

import pytest

from sitebot.journal.check import check
from sitebot.reports.daily import daily
from sitebot.reports.daily_pages import document
from sitebot.reports.dossier import document as dossier_document
from sitebot.reports.dossier import dossier
from sitebot.reports.export import COLUMNS, rows, to_csv
from sitebot.reports.opened import read_from
from sitebot.reports.story import story


def exported(stage):
    with stage.journal.log(stage.name) as log:
        table = rows(log, stage.site.tz)
    lines = list(csv.DictReader(io.StringIO(to_csv(table).decode("utf-8-sig"))))
    assert set(lines[0]) == set(COLUMNS)
    return {int(r["number"]): r for r in lines}


def test_weather_stands_with_the_splices_made_after_it(stage, does):
    """The splice before the first word has none; a later word on one part keeps the others."""
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    stage.now += timedelta(minutes=5)
    assert "34 F (1 C)" in does("Tobin", "report_weather", air_f=34, rain="light", shelter="tent")
    stage.now += timedelta(minutes=5)
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    stage.now += timedelta(minutes=5)
    does("Wilda", "report_weather", rain="none", wind="strong")
    stage.now += timedelta(minutes=5)
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    table = exported(stage)
    seen = {n: (r["air_f"], r["rain"], r["wind"], r["shelter"]) for n, r in table.items()}
    assert seen == {1: ("", "", "", ""), 2: ("34.0", "light", "", "tent"), 3: ("34.0", "none", "strong", "tent")}
    assert table[2]["weather_told_at"] == "2026-04-14T07:35-06:00"
    assert list(check(stage.journal, stage.name)) == []


def test_weather_of_one_day_is_not_that_of_the_next(stage, does):
    """Nothing is carried over midnight."""
    does("Tobin", "report_weather", rain="heavy", shelter="none")
    stage.run_to(stage.now + timedelta(days=1))
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    assert exported(stage)[1]["rain"] == ""


def test_weather_told_with_a_report_counts_for_it(stage, does, log):
    """ "2 butts in the tent, light rain" is both."""
    weather = {"rain": "light", "shelter": "tent", "air_f": 500}
    does("Tobin", "report_splices", count=2, joint="butt", place="ring wall A", weather=weather)
    assert [(w.rain, w.shelter, w.air_f) for w in log(lambda log: log.weather("2026-04-14"))] == [
        ("light", "tent", None)
    ]
    assert exported(stage)[2]["shelter"] == "tent"


@pytest.mark.parametrize(
    ("told", "caution"),
    [
        ({"rain": "light"}, "wet"),
        ({"rain": "light", "shelter": "tent"}, ""),
        ({"wind": "strong", "shelter": "none"}, "Wind cools"),
        ({"rain": "none", "wind": "calm"}, ""),
    ],
)
def test_wet_and_wind_without_a_roof_are_warned_of(does, told, caution):
    """The warning comes only where nobody told of a shelter."""
    reply = does("Wilda", "report_weather", **told)
    assert caution in reply
    assert bool(caution) == ("wet" in reply or "Wind cools" in reply)


def test_nonsense_is_asked_back(does, log):
    """No known word and no possible number: nothing is kept."""
    assert "Weather noted how" in does("Tobin", "report_weather", rain="frogs", air_f=9000)
    assert log(lambda log: log.weather(None)) == []


def test_the_report_shows_the_weather_told(stage, does):
    """The head of the day's report has it with its time; the story of the splice too."""
    does("Tobin", "report_weather", air_f=41, wind="strong", shelter="tarp")
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    with read_from(stage.journal, stage.name, stage.now) as (desk, head):
        facts = dict(document(daily(desk, "2026-04-14", head), desk, "en").facts)
        lines = list(story(1, desk, "en", with_history=False))
    assert facts["Weather"] == "7:30 am 41 F (5 C), strong wind and under a tarp"
    assert any(line.startswith("Weather") and "41 F" in line for line in lines)


def test_findings_stand_with_the_splice(stage, does):
    """Visual, bend and each item have their own fields; the verdict is another thing."""
    does("Tobin", "report_splices", count=2, joint="butt", place="ring wall A")
    reply = does("Ines", "report_inspection", numbers=[1], verdict="accept", visual="ok", bend="ok", cooled_min=15)
    assert reply.startswith("Accepted: #1 (1 splice): visual ok, bend test ok and cooled 15 min.")
    does("Ines", "report_inspection", numbers=[2], checks={"ribs": "ok", "bulb": "bad", "mood": "ok"})
    table = exported(stage)
    assert (table[1]["visual"], table[1]["bend"], table[1]["cooled_min"], table[1]["found_by"]) == (
        "ok",
        "ok",
        "15.0",
        "Ines",
    )
    assert (table[2]["checks"], table[2]["status"]) == ("bulb bad; ribs ok", "pending")
    assert "bulb BAD" in does("Garrick", "ask_splice", number=2, history=True)
    assert list(check(stage.journal, stage.name)) == []


def test_what_the_crew_found_does_not_replace_what_the_inspector_found(does, stage):
    """Crew may tell what they saw: it fills what is empty, and the splice waits all the same."""
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    does("Tobin", "report_inspection", numbers=[1], bend="ok")
    does("Ines", "report_inspection", numbers=[1], bend="bad", visual="ok")
    reply = does("Tobin", "report_inspection", numbers=[1], bend="ok", lab_no="4471")
    row = exported(stage)[1]
    assert (row["bend"], row["visual"], row["lab_no"], row["found_by"], row["status"]) == (
        "bad",
        "ok",
        "4471",
        "Ines",
        "pending",
    )
    assert "No verdict yet" in reply


def test_findings_on_a_number_nobody_knows_are_not_kept(does):
    """It says so."""
    assert "No #9" in does("Ines", "report_inspection", numbers=[9], bend="ok")


def test_the_dossier_of_a_place_has_a_row_of_weather(stage, does):
    """As told on the days of its splices; a place worked on another day has none of it."""
    does("Tobin", "report_weather", air_f=34, rain="light", shelter="tent")
    does("Tobin", "report_splices", count=1, joint="butt", place="ring wall A")
    stage.run_to(stage.now + timedelta(days=1))
    does("Tobin", "report_splices", count=1, joint="butt", place="floor joint 2")
    with read_from(stage.journal, stage.name, stage.now) as (desk, head):
        facts = {p: dict(dossier_document(dossier(desk, p, head), desk, "en").facts) for p in desk.log.places_used()}
    assert "34 F (1 C)" in facts["ring wall A"]["Weather"]
    assert "tent" in facts["ring wall A"]["Weather"]
    assert "34" not in facts["floor joint 2"]["Weather"]
