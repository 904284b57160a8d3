"""The pour dossier: one place with all that the log holds of it."""

import io

import pypdf
import pytest

from sitebot.errors import DataError
from sitebot.reports import dossier, typeset
from tests.reports.conftest import THORA


def of(job, place, language="en"):
    return job.reading(lambda desk, head: dossier.document(dossier.dossier(desk, place, head), desk, language))


def test_it_lists_the_splices_of_its_place_only(day):
    """East wall has 1 to 4; those of the south chamber are not in it."""
    table = next(b for b in of(day, "east wall").blocks if b.title == "All splices of the place")
    assert [r[0] for r in table.rows] == ["1", "2", "3", "4"]


def test_its_head_counts_each_planned_kind(day):
    """Accepted of planned, kind by kind; the welders by name; the lot."""
    facts = dict(of(day, "east wall").facts)
    assert facts["Plan"] == "1 of 3 butts accepted, 1 of 1 flat corner accepted"
    assert facts["State"] == "open"
    assert facts["Welders"] == "Iñaki and Pell"
    assert facts["Profiles, lots"] == "6 in and L-88"


def test_damage_and_open_points_are_listed(day):
    """A nail reopens the place, and both lists say so."""
    blocks = {b.title: b for b in of(day, "east wall").blocks}
    assert blocks["Damage still open"].lines == ("No. 3: nail through the web",)
    assert blocks["Open before the next pour"].lines[0] == "#3 damaged (nail through the web), repair and inspect"


def test_a_complete_place_is_said_to_be_complete_and_gives_no_leave(job):
    """All accepted, nothing open: complete; the caution still says that the report gives no leave to pour."""
    job.weld(1, "08:00", kind="butt", place="cámara sur")
    job.weld(2, "08:30", kind="tee", place="cámara sur")
    for number in (1, 2):
        job.judge(number, "accept", "10:00", by=THORA)
    document = of(job, "cámara sur")
    assert dict(document.facts)["State"] == "complete, nothing open"
    assert "gives no leave to pour" in document.caution


def test_an_unknown_place_is_refused_with_those_there_are(job):
    """The message names the places one may ask for."""
    with pytest.raises(DataError, match=r"no such place.*east wall, cámara sur"):
        of(job, "west wall")


def test_the_map_in_it_is_text_that_can_be_found(day):
    """The drawing is set as a drawing with letters, not as a picture of letters."""
    reader = pypdf.PdfReader(io.BytesIO(typeset.pdf(of(day, "east wall"))))
    text = " ".join(p.extract_text() for p in reader.pages)
    assert "In order of number, not to scale." in " ".join(text.split())
