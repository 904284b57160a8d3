"""The day's report as PDF: its text, taken out again, is what the log holds."""

import io
import re

import pypdf
import pytest

from sitebot.entries import WeatherTold
from sitebot.reports import daily, daily_pages, typeset
from tests.reports.conftest import DAY, PELL, Job


def text_of(data):
    reader = pypdf.PdfReader(io.BytesIO(data))
    return len(reader.pages), " ".join(" ".join(p.extract_text() for p in reader.pages).split())


def report(job, language="en", day=DAY):
    def made(desk, head):
        return daily_pages.document(daily.daily(desk, day, head), desk, language)

    return job.reading(made)


def row(table, first):
    return dict(zip(table.columns, next(r for r in table.rows if r[0] == first), strict=True))


def block(document, title):
    return next(b for b in document.blocks if b.title == title)


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_cell_of_the_report_stands_in_the_pdf(day, language):
    """Each word of the head, the tables and the lists is found in the text of the PDF, and it has at most 3 pages."""
    document = report(day, language)
    pages, text = text_of(typeset.pdf(document))
    cells = [text for fact in document.facts for text in fact]
    for b in document.blocks:
        cells += [b.title, *(getattr(b, "lines", None) or [cell for r in b.rows for cell in r])]
    plain = re.sub(r"\s+", "", text)
    missing = [c for c in cells if re.sub(r"\s+", "", c) not in plain]
    assert missing == []
    assert pages in (1, 2, 3)


def test_a_splice_shows_every_field_that_was_told(day):
    """Number, time, place, kind, welders, iron, heat, material, verdict with who and when."""
    found = row(block(report(day), "Splices of the day"), "1")
    assert found == {
        "no.": "1",
        "made": "7:20 am",
        "place": "east wall",
        "kind": "butt",
        "welders": "Iñaki, Pell",
        "iron": "1",
        "°F": "370",
        "profile, lot": "6 in, L-88",
        "verdict": "● accepted, Thora 9:30 am",
        "remarks": "",
    }


def test_a_reject_shows_its_defect_its_measure_and_its_redo(day):
    """Pores or a gap, how deep, by whom, and the number of the redo with its state."""
    assert block(report(day), "Rejects and rework").lines == (
        "No. 2, east wall, butt: not bonded 0.125 in (Thora, 9:31 am). Redone as 4, not inspected yet.",
    )


def test_a_reject_without_redo_is_open(job):
    """What was not redone is said to be open."""
    job.weld(1, "08:00", kind="butt", place="east wall")
    job.judge(1, "reject", "09:00", defect="porosity")
    line = block(report(job), "Rejects and rework").lines[0]
    assert line == "No. 1, east wall, butt: pores (Thora, 9:00 am). Open: to be cut out and redone."


def test_late_and_doubtful_entries_are_marked(day):
    """Told hours after, before a sample, without a welder, over the heat band: each is said."""
    lines = block(report(day), "Late or doubtful entries").lines
    assert lines == (
        "No. 3: iron over the heat band.",
        "No. 5: told 12:15 pm for 8:50 am; no passed sample of that iron stood in the log; welder not told.",
    )


def test_remarks_say_redo_correction_and_damage(day):
    """4 replaces 2 and was corrected; 3 is damaged and ran hot."""
    table = block(report(day), "Splices of the day")
    assert row(table, "4")["remarks"] == "redo of 2, corrected"
    assert row(table, "3")["remarks"] == "over the heat band, damage open"


def test_tally_counts_voided_splices_nowhere(day):
    """The void tee of the south chamber is made nowhere; its number still stands in the table of the day."""
    document = report(day)
    tally = row(block(document, "Tally by place"), "cámara sur")
    assert (tally["this day"], tally["made"], tally["to inspect"]) == ("1", "1", "1")
    assert row(block(document, "Splices of the day"), "6")["verdict"] == "– void"


def test_open_points_begin_with_the_place_that_is_poured_first(day):
    """The place with a pour planned stands before the one without."""
    lines = block(report(day), "Open before the next pour").lines
    assert lines[0].startswith("cámara sur, pour planned Thu Sep 17 2026: ")
    assert lines[1].startswith("east wall: #3 damaged (nail through the web), repair and inspect")


def test_an_iron_nobody_unplugged_is_an_open_point(day):
    """Plugged in, no unplugging told: said in the head and among the open points."""
    document = report(day)
    assert "unplugging not told" in dict(document.facts)["Irons"]
    assert "Iron 1: nobody told that it was unplugged." in block(document, "Open before the next pour").lines


def test_the_seal_is_the_head_of_the_log(day):
    """Number of entries and the hash of the last one, both in the PDF."""
    entries, head = day.reading(lambda desk, head: head)
    _, text = text_of(typeset.pdf(report(day)))
    assert f"Log with {entries} entries" in text
    assert head in text.replace(" ", "")


def test_the_standing_caution_is_in_every_report(job):
    """Also the report of an empty day says that it gives no leave to pour."""
    _, text = text_of(typeset.pdf(report(job)))
    assert "it gives no leave to pour" in text
    assert "None reported." in text


def test_the_same_log_gives_the_same_bytes(day):
    """Two readings of one state of the log differ in nothing."""
    assert typeset.pdf(report(day)) == typeset.pdf(report(day))


def test_a_later_entry_gives_another_seal(day):
    """One entry more, another hash on the paper."""
    before = report(day).hash
    day.judge(4, "accept", "14:00")
    assert report(day).hash != before


@pytest.mark.parametrize("name", ["#read(1)", "$x^2$", "*bold* _it_ @ref <label>", "\\u{41} `raw`", "a" * 60])
def test_names_are_shown_and_never_run(name):
    """What the typesetter would take for markup stands on paper as it was written."""
    raw = {"name": "Vault", "people": [{"name": "Ro", "role": "lead"}], "places": [{"name": name, "kinds": {"tee": 1}}]}
    _, text = text_of(typeset.pdf(report(Job(raw))))
    assert re.sub(r"\s+", "", name) in re.sub(r"\s+", "", text)


def test_a_metric_site_gets_a_metric_sheet():
    """A4 is 595 by 842 points."""
    raw = {"name": "Bóveda", "units": "metric", "language": "es", "people": [{"name": "Ro", "role": "lead"}]}
    page = pypdf.PdfReader(io.BytesIO(typeset.pdf(report(Job(raw), "es")))).pages[0]
    assert [round(float(x)) for x in page.mediabox[2:]] == [595, 842]


def test_without_an_inspector_the_report_says_so():
    """Verdicts of the lead are self-inspected, in the head and at the splice."""
    raw = {"name": "V", "people": [{"name": "Ro", "role": "lead"}], "places": [{"name": "a1", "kinds": {"butt": 1}}]}
    job = Job(raw)
    job.weld(1, "08:00", kind="butt", place="a1", by="p1", welders=("p1",))
    job.judge(1, "accept", "09:00", by="p1", self_inspected=True)
    document = report(job)
    assert dict(document.facts)["Inspector"] == "none on the roster, inspected by the lead"
    assert row(block(document, "Splices of the day"), "1")["remarks"] == "self-inspected"


def test_the_weather_as_told_stands_in_the_head(day):
    """Each word on the weather of that day, with its time; a line to write in where nobody told any."""
    assert dict(report(day).facts)["Weather"].startswith("not told to the log")
    made = day.at("07:05").isoformat()
    day.tell("13:30", PELL, WeatherTold(day=DAY, made_at=made, air_f=34.0, rain="light", shelter="tent"))
    assert dict(report(day).facts)["Weather"].startswith("7:05 am 34 F (1 C), light rain")
