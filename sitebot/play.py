"""Playing a scripted day: an empty store, a clock of its own; what went out and what stands after each line.

The format of scripts and of what is printed is tests/days/README.md.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from phonenumbers import country_code_for_region

from sitebot.errors import DataError
from sitebot.numbers import e164
from sitebot.record import DayChange, Log, Splice
from sitebot.site import SiteFile, site_of
from sitebot.stage import SITE, Stage

#: Where the numbers of a script are at home that name no country.
REGION = SiteFile.model_fields["region"].default
#: The clock starts this long before the first line.
BEFORE = timedelta(hours=2)


def site_of_header(header: Mapping[str, Any]) -> SiteFile:
    """The header of a script as a site file."""
    raw = {
        "name": str(header.get("title", "scripted day"))[:60],
        "zone": header.get("timezone", "UTC"),
        "language": header["lang"] if header.get("lang") in ("en", "es") else "en",
        "people": [_person(p) for p in header["roster"]],
        "places": [{"name": p["place"], "kinds": p.get("kinds", {})} for p in header.get("plan", [])],
        "shift": header.get("shift", {}),
    }
    return site_of(raw, "header")


def _person(row: Mapping[str, Any]) -> dict[str, Any]:
    """One of the roster. A number that no network could have is an invented one and is taken as written whole."""
    phone = row.get("phone") or ""
    if phone and e164(phone, REGION) is None and (whole := e164(f"+{country_code_for_region(REGION)} {phone}", REGION)):
        phone = whole
    return {"name": row["name"], "role": row["role"], "phone": phone, "language": row.get("lang", "en")}


def play(path: Path, made: Callable[[SiteFile, datetime], Stage] = Stage) -> Iterator[dict[str, Any]]:
    """Play a script; one result a line after the header. ``made`` may make a stage of another kind."""
    lines = read_script(path)
    site = site_of_header(lines[0])
    first = _moment(next((r["at"] for r in lines[1:] if "at" in r), "2026-01-05T05:00"), site)
    stage = made(site, first - BEFORE)
    for number, line in enumerate(lines[1:], start=2):
        moment = _moment(line["at"], site) if "at" in line else stage.now
        stage.run_to(moment)
        if "text" in line:
            said = _moment(line["said_at"], site) if line.get("said_at") else None
            stage.say(line["from"], line["text"], said)
        yield {"line": number, "messages": _messages(stage), "record": record_of(stage)}


def read_script(path: Path) -> list[dict[str, Any]]:
    """The lines of a script; DataError names every line that is no JSON."""
    faults, lines = [], []
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise DataError(f"{path}: cannot be read ({error.strerror}).") from error
    for number, line in enumerate(filter(str.strip, text.split("\n")), start=1):
        try:
            lines.append(json.loads(line))
        except ValueError as error:
            faults.append(f"{path}: line {number}: not JSON: {error}. Mend the line.")
    if not faults and (not lines or "roster" not in lines[0]):
        faults.append(f"{path}: line 1: the header with the roster is missing. Put it first.")
    if faults:
        raise DataError("\n".join(faults))
    return lines


def _moment(text: str, site: SiteFile) -> datetime:
    naive = datetime.fromisoformat(text)
    return (naive if naive.tzinfo else naive.replace(tzinfo=site.tz)).astimezone(UTC)


def _messages(stage: Stage) -> list[dict[str, str]]:
    zone = stage.site.tz
    return [
        {
            "at": at.astimezone(zone).strftime("%Y-%m-%dT%H:%M"),
            "to": stage.name_of(out.address),
            "kind": out.kind,
            "text": out.text,
        }
        for at, out in stage.sent()
    ]


def record_of(stage: Stage) -> dict[str, Any]:
    """The state of the record as days/README.md lays it out."""
    with stage.journal.turn(SITE, stage.now) as turn:
        log, zone = turn.log, turn.log.site().tz
        splices = log.splices()
        counted = {k: sum(s.status == k for s in splices) for k in ("accepted", "rejected", "pending", "voided")}
        day = stage.now.astimezone(zone).date().isoformat()
        return {
            "splices": [_splice(s, log, zone) for s in splices],
            "samples": [
                {"at": _clock(s.at, zone), "iron": s.iron, "verdict": s.verdict, "defect": s.defect}
                for s in log.samples(None)
            ],
            "irons": [
                {"at": _clock(e.at, zone), "iron": e.iron, "event": e.event, "temp_f": e.temp_f}
                for e in log.iron_events(None)
            ],
            "acks": [{"at": _clock(at, zone), "what": what} for what, at in log.acknowledgements(None)],
            "plan": [_plan(c, zone) for c in log.day_changes(None)],
            "crew": [log.name_of(p) for p in log.crew(day) or ()],
            "tally": {"made": len(splices) - counted["voided"], **counted},
            "open_rework": [s.number for s in log.open_rework()],
            "pour_ready": {p.name: log.place(p.name).is_ready for p in log.plan()},
        }


def _clock(moment: datetime | None, zone: ZoneInfo) -> str | None:
    return moment.astimezone(zone).strftime("%H:%M") if moment else None


def _splice(s: Splice, log: Log, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "n": s.number,
        "place": s.place,
        "kind": s.kind,
        "welders": [log.name_of(w) for w in s.welders],
        "iron": s.iron,
        "temp_f": s.temp_f,
        "time": _clock(s.made_at, zone),
        "day": s.day,
        "status": s.status,
        "defect": s.defect,
        "redo_of": s.redo_of,
    }


def _plan(c: DayChange, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "at": _clock(c.at, zone),
        "date": c.date,
        "start": c.start,
        "end": c.end,
        "no_work": c.no_work,
        "snooze_min": c.snooze_min,
        "remind": c.remind_at.astimezone(zone).strftime("%Y-%m-%dT%H:%M") if c.remind_at else None,
        "what": c.what,
    }
