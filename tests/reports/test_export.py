"""The log as CSV, JSON and XLSX: whole, with stable columns, and harmless in a spreadsheet."""

import csv
import io
import json

import openpyxl
import pytest

from sitebot.reports import export
from tests.reports.conftest import PELL

#: As they were when the first file went out. New ones go to the end.
FIRST_COLUMNS = [
    "number",
    "place",
    "kind",
    "status",
    "shift_day",
    "made_at",
    "told_at",
    "late",
    "welders",
    "iron",
    "temp_f",
    "profile",
    "lot",
    "sample_passed_before",
    "defect",
    "value",
    "unit",
    "inspected_by",
    "self_inspected",
    "redo_of",
    "redone_as",
    "damaged",
    "told_by",
]


def table(job):
    return job.reading(lambda desk, head: export.rows(desk.log, desk.site.tz))


def read_csv(data):
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_columns_keep_their_names_and_their_order():
    """What a program read last year it reads this year."""
    assert list(export.COLUMNS)[: len(FIRST_COLUMNS)] == FIRST_COLUMNS


def test_every_splice_is_a_row_the_void_one_too(day):
    """Six told, six rows, in order of number."""
    assert [r["number"] for r in table(day)] == [1, 2, 3, 4, 5, 6]


def test_a_row_holds_what_was_told(day):
    """The reject: where, who, how deep, by whom, and what replaced it; times with their zone."""
    row = table(day)[1]
    assert {k: row[k] for k in ("place", "status", "defect", "value", "unit", "inspected_by", "redone_as")} == {
        "place": "east wall",
        "status": "rejected",
        "defect": "unbonded",
        "value": 0.125,
        "unit": "in",
        "inspected_by": "Thora",
        "redone_as": "4",
    }
    assert row["made_at"] == "2026-09-15T07:50-06:00"
    assert row["welders"] == "Iñaki; Pell"


def test_csv_read_again_is_the_table(day):
    """Every cell of every row, accents included; nothing told is an empty cell."""
    rows = table(day)
    again = read_csv(export.to_csv(rows))
    assert again == [{k: "" if v is None else str(v) for k, v in r.items()} for r in rows]


def test_json_read_again_is_the_table(day):
    """Numbers stay numbers and nothing told is null."""
    rows = table(day)
    assert json.loads(export.to_json(rows)) == rows


def test_xlsx_read_again_is_the_table(day):
    """One sheet with a head and a row a splice."""
    rows = table(day)
    sheet = openpyxl.load_workbook(io.BytesIO(export.to_xlsx(rows))).active
    found = list(sheet.iter_rows(values_only=True))
    assert list(found[0]) == list(export.COLUMNS)
    assert [list(r) for r in found[1:]] == [[v or None if v == "" else v for v in r.values()] for r in rows]


@pytest.mark.parametrize("lot", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\r=1", '=HYPERLINK("http://example.org")'])
def test_what_a_spreadsheet_would_run_is_made_harmless(job, lot):
    """In CSV and XLSX the cell begins with an apostrophe; in JSON it stands as told."""
    job.weld(1, "08:00", by=PELL, lot=lot)
    rows = table(job)
    assert read_csv(export.to_csv(rows))[0]["lot"] == f"'{lot}"
    cell = openpyxl.load_workbook(io.BytesIO(export.to_xlsx(rows))).active.cell(2, FIRST_COLUMNS.index("lot") + 1)
    # XML reads a lone carriage return as a line feed.
    assert (cell.value.replace("\n", "\r"), cell.data_type) == (f"'{lot}".replace("_x000D_", "\r"), "s")
    assert json.loads(export.to_json(rows))[0]["lot"] == lot


def test_a_line_break_in_a_cell_stays_in_its_cell(job):
    """A place told over two lines is one cell of one row."""
    job.weld(1, "08:00", place='wall\n"A", low; end')
    again = read_csv(export.to_csv(table(job)))
    assert [r["place"] for r in again] == ['wall\n"A", low; end']


def test_progress_is_told_row_by_row(day):
    """Who waits for a long log sees it counted."""
    seen = []
    day.reading(lambda desk, head: export.rows(desk.log, desk.site.tz, seen.append))
    assert seen == [1, 2, 3, 4, 5, 6]
