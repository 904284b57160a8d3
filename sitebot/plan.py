"""The plan of a site as a table: place, kind, count; all faults at once. Nothing is read here but the file named."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import get_args

from sitebot.entries import PlacePlanned
from sitebot.errors import DataError
from sitebot.site import Kind

COLUMNS = ("place", "kind", "count")
KINDS = tuple(k for k in get_args(Kind) if k != "unknown")
#: More splices of one kind at one place than anybody plans: then somebody meant another number.
MOST = 5000

Plan = dict[str, dict[str, int]]


def read_plan(path: Path) -> Plan:
    """Places with the number of each kind; DataError names file, line and remedy of every fault."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise DataError(f"{path}: cannot be read ({error.strerror}). Name an existing file.") from error
    except UnicodeDecodeError as error:
        raise DataError(f"{path}: not UTF-8 text. Save it as CSV UTF-8.") from error
    lines = _lines(text, str(path))
    plan: Plan = {}
    faults: list[str] = []
    for number, row in lines:
        if fault := _take(row, plan):
            faults.append(f"{path}: line {number}: {fault}")
    if not plan and not faults:
        faults.append(f"{path}: no line under the header. Add lines like: B3,butt,8")
    if faults:
        raise DataError("\n".join(faults))
    return plan


def _lines(text: str, where: str) -> list[tuple[int, dict[str, str]]]:
    """Rows by their line; separated by comma, semicolon or tab, whichever the header has."""
    head = text.split("\n", 1)[0]
    reader = csv.DictReader(io.StringIO(text), delimiter=next((d for d in ";\t" if d in head), ","), restkey="more")
    names = [(n or "").strip().casefold() for n in reader.fieldnames or ()]
    missing = [c for c in COLUMNS if c not in names]
    unknown = [n for n in names if n not in COLUMNS]
    if missing or unknown:
        wrong = f"without {', '.join(missing)}" if missing else f"with {', '.join(repr(n) for n in unknown)}"
        raise DataError(f"{where}: line 1: a header {wrong}. Write exactly: place,kind,count")
    reader.fieldnames = names
    return list(_filled(reader))


def _filled(reader: csv.DictReader[str]) -> Iterator[tuple[int, dict[str, str]]]:
    for row in reader:
        cells = {k: v.strip() if isinstance(v, str) else "" for k, v in row.items() if k != "more"}
        if any(cells.values()) or row.get("more"):
            yield reader.line_num, cells | ({"more": "x"} if row.get("more") else {})


def _take(row: Mapping[str, str], plan: Plan) -> str | None:
    """Put one row into the plan; what is wrong with it, and what to do."""
    if "more" in row:
        return "more than three values. Put a place with a comma in its name in quotes."
    place, kind = row["place"], row["kind"].casefold().replace(" ", "_")
    if not place or len(place) > 60:
        return "no place, or one longer than 60 letters. Write the name people use."
    if kind not in KINDS:
        return f"kind {row['kind']!r} is not known. Write one of: {', '.join(KINDS)}"
    if not row["count"].isdecimal() or not 0 <= int(row["count"]) <= MOST:
        return f"count {row['count']!r} is no number from 0 to {MOST}. Write digits only."
    if kind in plan.setdefault(place, {}):
        return f"{place}, {kind} stands there twice. Leave one line with the sum."
    if twin := next((p for p in plan if p != place and p.casefold() == place.casefold()), None):
        return f"{place!r} and {twin!r} differ in capitals only. Write them alike."
    plan[place][kind] = int(row["count"])
    return None


def planned(plan: Plan, stands: Mapping[str, Mapping[str, int]]) -> list[PlacePlanned]:
    """The entries that bring the log's plan to the table's; places that the table does not name stay as they are."""
    wanted = {place: {k: n for k, n in kinds.items() if n} for place, kinds in plan.items()}
    return [PlacePlanned(place=p, kinds=kinds) for p, kinds in wanted.items() if dict(stands.get(p, {})) != kinds]
