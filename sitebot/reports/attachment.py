"""The file that goes with an answer: a descriptor of respond/report.py in, name and bytes out. Sends nothing.

Descriptors: ``{"report": "2026-03-10"}``, ``{"dossier": place}``, ``{"log": "csv" | "json" | "xlsx", "first", "last",
"place"}``, ``{"chart": name}``, ``{"map": place}`` and ``{"photo": hash}``, each with or without "language".
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from typing import Any

from sitebot.errors import DataError
from sitebot.message import Language, Media
from sitebot.photos import Folder, small
from sitebot.photos.small import CHAT_PX
from sitebot.reports import daily, daily_pages, dossier, export, pictures, typeset
from sitebot.reports.document import Document
from sitebot.respond.desk import Desk

TYPES = {
    "pdf": "application/pdf",
    "png": "image/png",
    "jpg": "image/jpeg",
    "csv": "text/csv",
    "json": "application/json",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
KINDS = ("report", "dossier", "log", "chart", "map", "photo")


def attachment(
    descriptor: Mapping[str, Any],
    desk: Desk,
    head: tuple[int, str],
    language: Language,
    photos: Folder | None = None,
    steps: typeset.Steps = lambda names: names,
) -> Media:
    """The file a descriptor names, from the log at ``desk``; ``head`` is that of the log, for the seal.

    DataError where there is nothing to show, no such place, or the extra ``report`` is not installed.
    """
    kind = next((k for k in KINDS if k in descriptor), None)
    if kind is None:
        raise DataError(f"{dict(descriptor)}: names no file. Give one of {', '.join(KINDS)}.")
    what = str(descriptor[kind])
    match kind:
        case "report":
            made = day_report(desk, what, head, language)
            return _media(f"splices-{what}", "pdf", typeset.pdf(made, photos, steps))
        case "dossier":
            made = dossier.document(dossier.dossier(desk, what, head), desk, language)
            return _media(f"dossier-{what}", "pdf", typeset.pdf(made, photos, steps))
        case "log":
            return log_file(desk, what, descriptor)
        case "photo":
            return photo(what, photos)
        case "map":
            # The last sheet is the one where work goes on.
            return _media(f"map-{what}", "png", typeset.png(pictures.place_maps(desk, what, language)[-1]))
    return chart(desk, what, language)


def photo(name: str, photos: Folder | None) -> Media:
    """A photo as it may be passed on: upright, without the place and whatever else the camera wrote into it."""
    data = photos.read(name) if photos else None
    if data is None:
        raise DataError(f"photo {name}: the original is not there. sitebot check says more.")
    return _media(f"photo-{name[:12]}", "jpg", small(data, CHAT_PX))


def day_report(desk: Desk, day: str, head: tuple[int, str], language: Language) -> Document:
    """The report of one shift day."""
    try:
        date.fromisoformat(day)
    except ValueError as error:
        raise DataError(f"{day!r} is no date. Write it as 2026-03-10.") from error
    return daily_pages.document(daily.daily(desk, day, head), desk, language)


def log_file(desk: Desk, form: str, part: Mapping[str, Any]) -> Media:
    """The splices of the log, or of a part of it, as a table."""
    if form not in export.FORMATS:
        raise DataError(f"{form!r}: no such format. Choose one of {', '.join(export.FORMATS)}.")
    first, last, place = (part.get(k) for k in ("first", "last", "place"))
    rows = [
        row
        for row in export.rows(desk.log, desk.site.tz)
        if (not first or row["shift_day"] >= first)
        and (not last or row["shift_day"] <= last)
        and (not place or row["place"] == place)
    ]
    return _media("-".join(["splices", *filter(None, (place, first, last))]), form, export.FORMATS[form](rows))


def chart(desk: Desk, name: str, language: Language) -> Media:
    """One chart as a picture."""
    if name not in pictures.CHARTS:
        raise DataError(f"{name!r}: no such chart. Choose one of {', '.join(pictures.CHARTS)}.")
    sheet = pictures.CHARTS[name](desk, language)
    if sheet is None:
        raise DataError(f"{name}: the log has nothing to show in it yet.")
    return _media(name, "png", typeset.png(sheet))


def _media(name: str, form: str, data: bytes) -> Media:
    """A file name of plain letters, whatever a place is called."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return Media(f"{re.sub('[^a-z0-9]+', '-', plain).strip('-')[:60] or 'file'}.{form}", TYPES[form], data)
