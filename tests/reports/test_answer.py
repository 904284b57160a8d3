"""Reports asked for in chat: the figures at once, the right file with them, and who may hear of whom."""

from dataclasses import replace

import pytest

from sitebot.acts import Act
from sitebot.entries import SpliceVoided
from sitebot.reports import pictures
from sitebot.respond import report
from sitebot.trade.statistics import wilson
from sitebot.wording import render_all
from tests.reports.conftest import DAY, INAKI, PELL, ROWENA, THORA


def asked(job, who, facts, handler=report.answer):
    def use(desk, head):
        person = next(p for p in desk.log.people() if p.id == who)
        return handler(Act("ask_report", facts), replace(desk, person=person))

    return job.reading(use)


def text(answer, language="en"):
    return render_all(answer.says, language)


def test_todays_report_gives_the_figures_and_the_pdf(day):
    """Made, accepted, rejected, to inspect; the file is the day's, in the reader's language."""
    found = asked(day, ROWENA, {"period": "today"})
    assert text(found) == "Report, today: 5 splices, 2 accepted, 1 rejected, 2 to inspect."
    assert found.picture == {"report": DAY, "language": "en"}
    assert asked(day, INAKI, {"period": "today"}).picture == {"report": DAY, "language": "es"}


@pytest.mark.parametrize(
    ("facts", "file"),
    [
        ({"period": "yesterday"}, {"report": "2026-09-14"}),
        ({"period": "date", "date": "last Thursday"}, {"report": "2026-09-10"}),
        ({"format": "pdf", "period": "today"}, {"report": DAY}),
        ({"format": "pdf", "period": "all"}, {"report": DAY}),
        ({"format": "csv", "period": "week"}, {"log": "csv", "first": "2026-09-14", "last": None, "place": None}),
        ({"format": "spreadsheet", "period": "all"}, {"log": "xlsx", "first": None, "last": None, "place": None}),
        ({"format": "excel", "period": "today"}, {"log": "xlsx", "first": DAY, "last": DAY, "place": None}),
        ({"place": "east wall", "period": "all"}, {"dossier": "east wall"}),
        ({"about": "pace"}, {"chart": "pace"}),
        ({"about": "map", "place": "east wall"}, {"map": "east wall"}),
    ],
)
def test_the_file_is_the_one_that_was_asked_for(day, facts, file):
    """PDF of a day, a table of a period, the dossier of a place."""
    assert asked(day, ROWENA, facts).picture == {**file, "language": "en"}


def test_the_whole_log_on_paper_is_the_latest_day_that_was_worked(day):
    """On a day without a splice the report of "everything" is that of the last day with one."""
    day.now = day.at("16:00", "2026-09-18")
    assert asked(day, ROWENA, {"format": "pdf", "period": "all"}).picture["report"] == DAY


def test_open_rework_is_said_with_the_figures(job):
    """Who asks for a report hears what is still to be redone before he opens it."""
    job.weld(1, "08:00", kind="butt", place="east wall")
    job.judge(1, "reject", "09:00")
    assert text(asked(job, ROWENA, {"period": "today"})).endswith("Rework open: #1.")


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_answer_fits_one_part(day, language):
    """160 characters, in both languages."""
    assert len(text(asked(day, ROWENA, {"period": "today", "place": "east wall"}), language)) <= 160


def rated(job):
    """Pell welds twelve, one of them rejected; Iñaki welds three."""
    for n in range(1, 13):
        job.weld(n, f"{7 + n // 4:02d}:{n % 4}0", welders=(PELL, INAKI) if n <= 3 else (PELL,))
        job.judge(n, "reject" if n == 5 else "accept", "12:00")
    job.weld(13, "13:00", welders=(PELL,), redo_of=5)
    job.judge(13, "accept", "14:00")
    job.weld(14, "13:30", welders=(PELL,))
    job.tell("13:40", PELL, SpliceVoided(number=14))
    return job


@pytest.mark.parametrize("who", [ROWENA, THORA])
def test_lead_and_inspector_hear_who_is_good_at_it(job, who):
    """11 of 12 with its interval; under ten there is nothing to tell; by name, not by rank."""
    low, high = wilson(11, 12)
    expected = f"Pell 92% of 12 ({100 * low:.0f}%-{100 * high:.0f}%)"
    assert text(asked(rated(job), who, {}, report.welders)) == (
        f"Passed at the first inspection: Iñaki 3 of 3, too few to tell; {expected}."
    )


def test_it_is_a_matter_of_the_same_act(job):
    """Asked for as a report about the welders, it is answered and guarded alike."""
    assert asked(rated(job), ROWENA, {"about": "welders"}).says == asked(job, ROWENA, {}, report.welders).says
    assert asked(job, PELL, {"about": "welders"}).outcome == "refuse"


def test_the_charts_named_here_are_those_there_are():
    """What an answer names can be drawn."""
    assert set(report.CHARTS) == set(pictures.CHARTS)


def test_the_crew_does_not_hear_it(job):
    """Nor of himself: it is refused, and no figure is in the answer."""
    found = asked(rated(job), PELL, {}, report.welders)
    assert found.outcome == "refuse"
    assert not any(c.isdigit() for c in text(found))


def test_nine_are_too_few_and_ten_are_enough(job):
    """The limit is ten first inspections."""
    nine, ten = report.WelderRate("p", 9, 9), report.WelderRate("p", 10, 10)
    assert nine.interval is None
    # 10 of 10 by the formula of Wilson: 0.7225 to 1.
    assert ten.interval == pytest.approx((0.7225, 1.0), abs=5e-5)


def test_why_names_the_formula(job):
    """What was counted, and where the interval comes from."""
    why = render_all(asked(rated(job), ROWENA, {}, report.welders).why, "en")
    assert "Newcombe 1998" in why
    assert "redos not counted" in why
