"""The file that goes with an answer."""

import io

import pypdf
import pytest

from sitebot.errors import DataError
from sitebot.reports.attachment import attachment
from tests.reports.conftest import DAY
from tests.reports.test_export import read_csv


def media(job, descriptor, language="en"):
    return job.reading(lambda desk, head: attachment(descriptor, desk, head, language))


def first_page(data):
    return " ".join(pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text().split())


def test_the_report_of_a_day_is_a_pdf_in_the_language_asked(day):
    """Name, kind and head of the file."""
    sent = media(day, {"report": DAY}, "es")
    assert (sent.name, sent.mime) == (f"splices-{DAY}.pdf", "application/pdf")
    assert first_page(sent.data).startswith("Reporte diario de empalmes mar 15 sep 2026 Penstock vault")


def test_the_dossier_is_named_in_plain_letters(day):
    """Accents and blanks of the place do not get into the file name."""
    sent = media(day, {"dossier": "cámara sur"})
    assert sent.name == "dossier-camara-sur.pdf"
    assert first_page(sent.data).startswith("Pour dossier: cámara sur")


def test_a_part_of_the_log_holds_that_part(day):
    """Only the days and the place asked for, as CSV."""
    day.weld(7, "08:00", day="2026-09-16", place="east wall", kind="butt")
    part = {"log": "csv", "first": DAY, "last": DAY, "place": "east wall"}
    assert [r["number"] for r in read_csv(media(day, part).data)] == ["1", "2", "3", "4"]
    assert [r["number"] for r in read_csv(media(day, {"log": "csv", "first": "2026-09-16"}).data)] == ["7"]
    assert len(read_csv(media(day, {"log": "csv"}).data)) == 7


@pytest.mark.parametrize("chart", ["pace", "first-pass", "rejects", "heats", "covers"])
def test_each_chart_is_a_picture(day, chart):
    """PNG by its first bytes."""
    sent = media(day, {"chart": chart})
    assert (sent.mime, sent.data[:4]) == ("image/png", b"\x89PNG")


def test_the_map_of_a_place_is_a_picture(day):
    """PNG, also of a place where nothing was made yet."""
    assert media(day, {"map": "cámara sur"}).data[:4] == b"\x89PNG"


@pytest.mark.parametrize(
    ("descriptor", "words"),
    [
        ({"report": "tomorrow"}, "is no date"),
        ({"dossier": "moon"}, "no such place"),
        ({"log": "docx"}, "no such format"),
        ({"chart": "pie"}, "no such chart"),
        ({"song": "x"}, "names no file"),
    ],
)
def test_what_there_is_not_is_said_with_what_there_is(day, descriptor, words):
    """One clear fault, and what to ask for instead."""
    with pytest.raises(DataError, match=words):
        media(day, descriptor)


def test_a_chart_without_anything_to_show_is_a_fault_and_no_empty_picture(job):
    """An empty log has no pace."""
    with pytest.raises(DataError, match="nothing to show"):
        media(job, {"chart": "pace"})
