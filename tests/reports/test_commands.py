"""The commands report, export and splice on a log in a file."""

import json

import pytest
import typer
from typer.testing import CliRunner

from sitebot.errors import DataError
from sitebot.journal import Journal
from sitebot.reports import commands
from tests.reports import conftest

app = typer.Typer()
for command in (commands.report, commands.export, commands.splice):
    app.command()(command)


@pytest.fixture
def db(tmp_path, monkeypatch):
    """The log of the full day, in a file."""
    path = tmp_path / "vault.db"
    monkeypatch.setattr(conftest, "Journal", lambda *_, **__: Journal.at(path))
    job = conftest.full_day(conftest.Job())
    job.journal.close()
    monkeypatch.chdir(tmp_path)
    return path


def run(db, *args):
    result = CliRunner().invoke(app, [*args, "--db", str(db), "--site", "vault"])
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code == 0, result.output
    return result


def test_report_writes_the_pdf_of_a_day(db, tmp_path):
    """Under its own name, here; the name is printed."""
    assert run(db, "report", conftest.DAY).output.split() == [f"splices-{conftest.DAY}.pdf"]
    assert (tmp_path / f"splices-{conftest.DAY}.pdf").read_bytes()[:5] == b"%PDF-"


def test_report_writes_the_dossier_of_a_place(db, tmp_path):
    """To the file that is named, in the language that is named."""
    run(db, "report", "--place", "east wall", "--out", str(tmp_path / "sub" / "d.pdf"), "--lang", "es")
    assert (tmp_path / "sub" / "d.pdf").read_bytes()[:5] == b"%PDF-"


def test_report_writes_all_charts_and_maps(db, tmp_path):
    """Five charts and a map of each of two places."""
    run(db, "report", "--charts", str(tmp_path / "c"))
    names = sorted(p.name for p in (tmp_path / "c").iterdir())
    assert names == ["covers.png", "first-pass.png", "heats.png", "map-1.png", "map-2.png", "pace.png", "rejects.png"]


def test_export_to_standard_output_can_be_piped(db):
    """ "-" writes the bytes and nothing else."""
    rows = json.loads(run(db, "export", "--format", "json", "--out", "-").stdout_bytes)
    assert [r["number"] for r in rows] == [1, 2, 3, 4, 5, 6]


def test_export_takes_days_and_place(db):
    """Only what was asked for."""
    out = run(
        db, "export", "-f", "json", "-o", "-", "--place", "east wall", "--from", "2026-09-15", "--to", "2026-09-15"
    )
    assert [r["number"] for r in json.loads(out.stdout_bytes)] == [1, 2, 3, 4]


def test_splice_shows_its_fields(db):
    """Place, kind, verdict of the reject."""
    out = run(db, "splice", "2").output
    assert "east wall" in out
    assert "× rejected: not bonded 0.125 in, Thora 9:31 am" in out
    assert "reported" not in out


def test_splice_with_history_shows_every_entry_in_order(db):
    """Reported, corrected with old and new value, who and when."""
    lines = run(db, "splice", "4", "--history").output.splitlines()
    story = [line for line in lines if "Pell: " in line]
    assert "Pell: reported" in story[0]
    assert "Pell: corrected change={temp_f=368}, was={temp_f=370}" in story[1]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("splice", "99"), "No splice 99 in the log. The highest is 6."),
        (("report", "15/09/2026"), "is no date"),
        (("report", "--lang", "fr"), "Choose en or es"),
        (("report", "--place", "moon"), "no such place"),
        (("export", "--format", "doc"), "no such format"),
    ],
)
def test_faults_say_what_to_do(db, args, words):
    """In our own words, as an error that the entry point prints."""
    with pytest.raises(DataError, match=words):
        run(db, *args)


def test_a_log_that_is_not_there_is_not_made(tmp_path):
    """A misspelt name makes no empty file."""
    with pytest.raises(DataError, match="no such log"):
        run(tmp_path / "no.db", "report")
    assert list(tmp_path.iterdir()) == []


def test_a_site_that_is_not_there_is_named_with_those_that_are(db):
    """The log holds vault."""
    result = CliRunner().invoke(app, ["report", "--db", str(db), "--site", "x"])
    assert "It holds: vault." in str(result.exception)
