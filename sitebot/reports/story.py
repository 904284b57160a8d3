"""One splice as lines of text: how it stands, and every entry about it with the words it came in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sitebot.errors import DataError
from sitebot.message import Language, Say
from sitebot.photos import Folder
from sitebot.record import Line, Splice, Weather, sample_of, weather_at
from sitebot.reports.daily import lines_of
from sitebot.reports.splice_pages import splices
from sitebot.reports.words import Words
from sitebot.respond.desk import Desk
from sitebot.respond.findings import findings_said
from sitebot.respond.weather import parts_said

#: Fields of an entry that its line does not repeat.
_SAID_ELSEWHERE = {"number", "day", "made_at", "self_inspected", "late", "before_sample", "width", "height"}


def story(number: int, desk: Desk, language: Language, *, with_history: bool) -> Iterator[str]:
    """The fields of a splice, one a line; then its entries, oldest first. DataError where there is none."""
    splice = desk.log.splice(number)
    lines = desk.log.history(number)
    if splice is None and not lines:
        raise DataError(f"No splice {number} in the log. The highest is {desk.log.highest()}.")
    w = Words(language, desk.site.tz)
    if splice is not None:
        yield f"{w.label('day'):<12} {w.date(splice.day)}"
        table = splices("", (*lines_of([splice], desk),), splice.day, desk, w)
        yield from (f"{name:<12} {value}" for name, value in zip(table.columns, table.rows[0], strict=True) if value)
        if sample := sample_of(splice, desk.log.samples(splice.day)):
            values = {"time": w.moment(sample.at, splice.day), "by": desk.log.name_of(sample.by) if sample.by else None}
            yield f"{w.label('sample'):<12} {w.text(Say('samples.rests_on', values))}"
        if told := weather_at(desk.log.weather(splice.day), splice.made_at):
            yield f"{w.label('weather'):<12} {w.text(Say('weather.at', _said(told, splice.day, w)))}"
        if splice.findings:
            yield f"{w.label('found'):<12} {w.text(Say('findings.by', _found(splice, desk)))}"
    if with_history:
        yield ""
        for line in lines:
            yield from _entry(line, desk, w)


def _said(told: Weather, day: str, w: Words) -> dict[str, object]:
    return {"time": w.moment(told.at, day), "parts": parts_said(told)}


def _found(splice: Splice, desk: Desk) -> dict[str, object]:
    return {"found": findings_said(splice.findings), "by": desk.log.name_of(splice.findings["by"])}


def pictures(number: int, desk: Desk, language: Language, folder: Folder) -> Iterator[str]:
    """The photos of a splice: file, kind, size, sides, who sent it when, the camera's own time."""
    w = Words(language, desk.site.tz)
    shown = [p for p in desk.log.photos() if number in p.numbers]
    yield ""
    if not shown:
        yield w.label("no_photos")
    for p in shown:
        fault = folder.fault(p.sha256)
        yield f"{folder.original(p.sha256)}{f'  !! {fault}' if fault else ''}"
        told = w.say("photo_told", by=desk.log.name_of(p.by), at=w.moment(p.at, ""), taken=p.taken)
        yield f"    {p.mime}, {p.width} x {p.height}, {p.size} bytes; {told}"


def _entry(line: Line, desk: Desk, w: Words) -> Iterator[str]:
    who = desk.log.name_of(line.person) if line.person else "-"
    yield f"{line.seq:>6}  {w.moment(line.at, '')}  {who}: {w.term(f'entry.{line.kind}')}{_details(line, desk)}"
    if line.text:
        yield f"        “{' '.join(line.text.split())}”"


def _details(line: Line, desk: Desk) -> str:
    """What the entry holds beyond its kind, as field=value."""
    told = {k: v for k, v in line.body.items() if k not in _SAID_ELSEWHERE and v not in (None, "", [], {})}
    return " " + ", ".join(f"{k}={_value(k, v, desk)}" for k, v in told.items()) if told else ""


def _value(field: str, value: Any, desk: Desk) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}={_value(k, v, desk)}" for k, v in value.items()) + "}"
    if field == "welders" and isinstance(value, list):
        return "+".join(desk.log.name_of(str(v)) for v in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
