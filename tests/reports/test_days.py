"""Scripted days played through, and their reports taken out of the PDF again: what stands there is the record."""

import io
import re
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import pypdf
import pytest

from sitebot.play import read_script, record_of, site_of_header
from sitebot.reports.attachment import attachment
from sitebot.reports.opened import read_from
from sitebot.stage import SITE, Stage
from sitebot.wording.render import clock_text, terms

DAYS = Path(__file__).parent.parent / "days"
SCRIPTS = [
    ("01-good-day", "2026-03-10", "en"),
    ("04-cuadrilla-en-espanol", "2026-04-14", "es"),
    ("07-start-moves-rain-snooze", "2026-05-13", "en"),
    ("07-start-moves-rain-snooze", "2026-05-15", "es"),
]


@cache
def played(name):
    """The stage after the last line of a script."""
    header, *lines = read_script(DAYS / f"{name}.jsonl")
    site = site_of_header(header)

    def moment(text):
        return datetime.fromisoformat(text).replace(tzinfo=site.tz).astimezone(UTC)

    stage = Stage(site, moment(lines[0]["at"]) - timedelta(hours=2))
    for line in lines:
        stage.run_to(moment(line["at"]) if "at" in line else stage.now)
        if "text" in line:
            stage.say(line["from"], line["text"], moment(line["said_at"]) if line.get("said_at") else None)
    return stage


def report_of(stage, day, language):
    with read_from(stage.journal, SITE, stage.now) as (desk, head):
        data = attachment({"report": day}, desk, head, language).data
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return len(pages), " ".join(" ".join(p.extract_text() for p in pages).split()), head


def row_of(splice, language):
    """A row of the report as the record has it, as far as it is not the reader's to decide."""
    hour, minute = splice["time"].split(":")
    made = clock_text(datetime(2000, 1, 1, int(hour), int(minute), tzinfo=UTC).time())
    kind = "-" if splice["kind"] == "unknown" else terms(language)[f"kind.{splice['kind']}"][0]
    fields = [str(splice["n"]), made, splice["place"] or "-", kind, ", ".join(splice["welders"]) or "-"]
    heat = "-" if splice["temp_f"] is None else f"{splice['temp_f']:.1f}".removesuffix(".0")
    status = terms(language)[f"status.{splice['status']}"]
    return r"\s+".join(re.escape(f) for f in (*fields, splice["iron"] or "-", heat)) + rf"\s+\S\s+{status}"


@pytest.mark.parametrize(("name", "day", "language"), SCRIPTS)
def test_the_report_of_a_scripted_day_is_its_record(name, day, language):
    """Each splice of that shift day is a row with the fields of the record, and there is no row more."""
    stage = played(name)
    splices = [s for s in record_of(stage)["splices"] if s["day"] == day]
    pages, text, _ = report_of(stage, day, language)
    assert splices
    assert [s["n"] for s in splices if not re.search(row_of(s, language), text)] == []
    assert len(re.findall(r"[●×○–] (?:accept|acept|reject|rechaz|not insp|sin insp|void|anul)", text)) == len(splices)
    assert pages in (1, 2, 3)


@pytest.mark.parametrize(("name", "day", "language"), SCRIPTS)
def test_the_report_of_a_scripted_day_carries_its_seal(name, day, language):
    """The hash of the last entry is that of the log."""
    stage = played(name)
    _, text, (entries, head) = report_of(stage, day, language)
    assert head in text
    assert f" {entries} " in text
