"""The splice log as CSV, JSON or XLSX. Column names are stable; what nobody reported is empty.

Cells that a spreadsheet would take for a formula are made harmless; times carry their zone.
"""

from __future__ import annotations

import csv
import io
import json
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, tzinfo
from typing import Any

from sitebot.errors import DataError
from sitebot.record import WEATHER_PARTS, Log, Sample, Splice, Weather, sample_of, weather_at

#: Column -> what stands in it. New columns go to the end; none is ever renamed.
COLUMNS = {
    "number": "splice number of the site",
    "place": "where it was made, as planned",
    "kind": "butt, flat_corner, edge_corner, corner, tee, cross, wye or unknown",
    "status": "pending, accepted, rejected or voided",
    "shift_day": "the day its shift began",
    "made_at": "when it was made, with zone",
    "told_at": "when it was reported, with zone",
    "late": "yes: reported after the fact, the time is as told",
    "welders": "names, separated by ;",
    "iron": "iron used",
    "temp_f": "iron temperature as reported [F]",
    "profile": "waterstop profile",
    "lot": "lot of the material",
    "sample_passed_before": "no: no passed sample of the day stood in the log",
    "defect": "defect of the verdict",
    "value": "measured value",
    "unit": "its unit",
    "inspected_by": "who gave the verdict",
    "self_inspected": "yes: the roster had no inspector, the lead judged",
    "redo_of": "number of the rejected splice it replaces",
    "redone_as": "numbers of its redos, separated by ;",
    "damaged": "yes: damage reported and not yet settled",
    "told_by": "who reported it",
    "weather_told_at": "last word on the weather of that day before it was made, with zone; empty: nobody told any",
    "air_f": "air temperature as told [F]",
    "humidity": "humidity as told [%]",
    "rain": "none, light, heavy, snow or fog, as told",
    "wind": "calm, light or strong, as told",
    "wind_mph": "wind as told [mph]",
    "shelter": "tent, tarp, building, umbrella, other or none, as told",
    "visual": "ok or bad: the look as a whole",
    "checks": "items looked at, like bulb ok; ribs bad",
    "bend": "ok or bad: the bend test",
    "cooled_min": "how long it cooled before the bend [min]",
    "lab_no": "number of the laboratory's sample",
    "lab_percent": "strength of the laboratory's sample, of the parent [%]",
    "found_by": "who told what was found",
    "photos": "SHA-256 of its photos, separated by ;",
    "sample_at": "when the passed sample it rests on was told, with zone; empty: none, or nobody told of one",
    "sample_by": "who told of that sample",
    "temp_by": "how the temperature was measured, as told: infrared, contact, pyrometer, dial or stick",
    "sample_watched_by": "who is said to have watched that sample, separated by ;",
}
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def rows(log: Log, zone: tzinfo, done: Callable[[int], None] = lambda n: None) -> list[dict[str, Any]]:
    """One row a splice, in order of number."""
    splices = log.splices()
    redone: dict[int, list[int]] = {}
    for s in splices:
        if s.redo_of is not None and s.status != "voided":
            redone.setdefault(s.redo_of, []).append(s.number)
    out = []
    photos = shown_by_number(log)
    told: dict[str, list[Weather]] = {}
    for word in log.weather(None):
        told.setdefault(word.day, []).append(word)
    samples: dict[str, list[Sample]] = {}
    for sample in log.samples(None):
        samples.setdefault(sample.day, []).append(sample)
    for i, splice in enumerate(splices):
        row = _row(splice, redone.get(splice.number, []), log, zone)
        row |= _weather(weather_at(told.get(splice.day, ()), splice.made_at), zone)
        row |= _findings(splice.findings, log)
        row |= {"photos": "; ".join(photos[splice.number])}
        rests_on = sample_of(splice, samples.get(splice.day, ()))
        row |= _sample(rests_on, log, zone)
        watched = "; ".join(map(log.name_of, rests_on.witness)) if rests_on else ""
        out.append(row | {"temp_by": splice.temp_by, "sample_watched_by": watched or None})
        done(i + 1)
    return out


def shown_by_number(log: Log) -> Mapping[int, list[str]]:
    """The photos of each splice, by their hashes, in the order they came."""
    photos: dict[int, list[str]] = defaultdict(list)
    for photo in log.photos():
        for number in photo.numbers:
            photos[number].append(photo.sha256)
    return photos


def _row(s: Splice, redone: Sequence[int], log: Log, zone: tzinfo) -> dict[str, Any]:
    return {
        "number": s.number,
        "place": s.place,
        "kind": s.kind,
        "status": s.status,
        "shift_day": s.day,
        "made_at": _time(s.made_at, zone),
        "told_at": _time(s.told_at, zone),
        "late": _yes(s.late),
        "welders": "; ".join(log.name_of(w) for w in s.welders),
        "iron": s.iron,
        "temp_f": s.temp_f,
        "profile": s.profile,
        "lot": s.lot,
        "sample_passed_before": "no" if s.before_sample else "yes",
        "defect": s.defect,
        "value": s.value,
        "unit": s.unit,
        "inspected_by": log.name_of(s.verdict_by) if s.verdict_by else None,
        "self_inspected": _yes(s.self_inspected),
        "redo_of": s.redo_of,
        "redone_as": "; ".join(str(n) for n in redone),
        "damaged": _yes(s.damaged),
        "told_by": log.name_of(s.told_by) if s.told_by else None,
    }


def _weather(w: Weather | None, zone: tzinfo) -> dict[str, Any]:
    parts = {name: getattr(w, name, None) for name in WEATHER_PARTS}
    return {"weather_told_at": _time(w.at if w else None, zone), **parts}


def _sample(s: Sample | None, log: Log, zone: tzinfo) -> dict[str, Any]:
    return {"sample_at": _time(s.at if s else None, zone), "sample_by": log.name_of(s.by) if s and s.by else None}


def _findings(found: Mapping[str, Any], log: Log) -> dict[str, Any]:
    names = ("visual", "bend", "cooled_min", "lab_no", "lab_percent")
    checks = "; ".join(f"{item} {result}" for item, result in sorted((found.get("checks") or {}).items()))
    by = log.name_of(found["by"]) if found.get("by") else None
    return {**{name: found.get(name) for name in names}, "checks": checks or None, "found_by": by}


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"


def _time(moment: datetime | None, zone: tzinfo) -> str | None:
    return moment.astimezone(zone).isoformat(timespec="minutes") if moment else None


def harmless(value: Any) -> Any:
    """A text that a spreadsheet would take for a formula gets an apostrophe before it."""
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def to_csv(table: Sequence[dict[str, Any]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS)
    writer.writeheader()
    writer.writerows({k: harmless(v) for k, v in row.items()} for row in table)
    # The mark tells spreadsheets that it is UTF-8.
    return b"\xef\xbb\xbf" + text.getvalue().encode()


def to_json(table: Sequence[dict[str, Any]]) -> bytes:
    return json.dumps(list(table), ensure_ascii=False, indent=1).encode()


def to_xlsx(table: Sequence[dict[str, Any]]) -> bytes:
    try:
        from openpyxl import Workbook
    except ImportError as error:
        raise DataError("XLSX needs the extra report: pip install sitebot[report]. Or export CSV.") from error
    book = Workbook(write_only=True)
    sheet = book.create_sheet("splices")
    sheet.append(list(COLUMNS))
    for row in table:
        sheet.append([harmless(row[name]) for name in COLUMNS])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


FORMATS: dict[str, Callable[[Sequence[dict[str, Any]]], bytes]] = {"csv": to_csv, "json": to_json, "xlsx": to_xlsx}
