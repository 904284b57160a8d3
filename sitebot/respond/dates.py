"""Dates as people say them, in English and Spanish, against the day they were said. Pure."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime, time, timedelta, tzinfo
from functools import lru_cache

_WEEKDAYS = (
    ("mon", "lun"),
    ("tue", "mar"),
    ("wed", "mie"),
    ("thu", "jue"),
    ("fri", "vie"),
    ("sat", "sab"),
    ("sun", "dom"),
)
_MONTHS = ("jan ene", "feb", "mar", "apr abr", "may", "jun", "jul", "aug ago", "sep", "oct", "nov", "dec dic")
_SHIFTS = {
    "day after tomorrow": 2,
    "pasado manana": 2,
    "day before yesterday": -2,
    "antier": -2,
    "anteayer": -2,
    "tomorrow": 1,
    "tmrw": 1,
    "tomorro": 1,
    "2moro": 1,
    "manana": 1,
    "yesterday": -1,
    "yday": -1,
    "ayer": -1,
    "last night": -1,
    "today": 0,
    "hoy": 0,
    "now": 0,
    "tonight": 0,
    "this morning": 0,
    "esta manana": 0,
    "this afternoon": 0,
    "esta tarde": 0,
    "esta noche": 0,
}


def fold(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return " ".join(re.sub(r"[^a-z0-9\-/]+", " ", plain.replace("_", " ")).split())


def date_of(words: str | None, today: date) -> date | None:
    """The date ``words`` mean when said on ``today``; None where they mean none.

    A weekday is the next one, today excluded, unless "last" or "pasado" makes it the one before.
    """
    if not words:
        return None
    text = fold(words)
    try:
        return date.fromisoformat(text)
    except ValueError:
        pass
    if (named := _month_day(text, today)) or (named := _weekday(text, today)):
        return named
    for phrase in sorted(_SHIFTS, key=len, reverse=True):
        if re.search(rf"\b{phrase}\b", text):
            return today + timedelta(days=_SHIFTS[phrase])
    return _day_of_month(text, today)


def dates_of(words: str | None, today: date) -> list[date]:
    """All dates of "Thursday and Friday", "the 14th through the 18th", "thu-sat"."""
    if not words:
        return []
    text = fold(words)
    through = re.split(r"\b(?:through|thru|to|until|till|al|hasta)\b|(?<=[a-z])-(?=[a-z])", text)
    if len(through) == 2:
        first, last = date_of(through[0], today), date_of(through[1], today)
        if first and last and first <= last <= first + timedelta(days=31):
            return [first + timedelta(days=i) for i in range((last - first).days + 1)]
    found = [date_of(part, today) for part in re.split(r"\b(?:and|y|n|or|o)\b|&", text)]
    return sorted({d for d in found if d})


def _weekday(text: str, today: date) -> date | None:
    for number, stems in enumerate(_WEEKDAYS):
        if re.search(rf"\b({'|'.join(stems)})[a-z]*\b", text) and "martillo" not in text:
            back = re.search(r"\b(last|pasado|pasada|past)\b", text)
            ahead = (number - today.weekday()) % 7 or 7
            return today - timedelta(days=7 - ahead or 7) if back else today + timedelta(days=ahead)
    return None


def _month_day(text: str, today: date) -> date | None:
    for number, stems in enumerate(_MONTHS, start=1):
        names = "|".join(rf"{s}[a-z]*" for s in stems.split())
        hit = re.search(rf"\b(?:{names})\.? (\d{{1,2}})(?:st|nd|rd|th)?\b|\b(\d{{1,2}}) (?:de )?(?:{names})\b", text)
        if hit:
            return _nearest(today, number, int(hit[1] or hit[2]))
    return None


def _nearest(today: date, month: int, day: int) -> date | None:
    years = (today.year, today.year + 1, today.year - 1)
    options = [d for year in years if (d := _made(year, month, day))]
    return min(options, key=lambda d: abs((d - today).days), default=None)


def _made(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _day_of_month(text: str, today: date) -> date | None:
    hit = re.search(r"\b(\d{1,2})(?:st|nd|rd|th)?\b", text)
    if not hit:
        return None
    day = int(hit[1])
    this = _made(today.year, today.month, day)
    if this and this >= today:
        return this
    following = today.replace(day=1) + timedelta(days=32)
    return _made(following.year, following.month, day) or this


def is_clock(value: object) -> bool:
    """ "HH:MM"."""
    return isinstance(value, str) and re.fullmatch(r"([01]?\d|2[0-3]):[0-5]\d", value) is not None


def moment_of(clock: str, day: date, said_at: datetime) -> datetime:
    """The local time "HH:MM" of a day in the zone of ``said_at``; a time the clocks skip moves forward with them."""
    return _moment(clock, day, said_at.tzinfo)


@lru_cache(maxsize=1000)
def _moment(clock: str, day: date, zone: tzinfo | None) -> datetime:
    hours, minutes = (int(x) for x in clock.split(":")[:2])
    naive = datetime.combine(day, time(hours % 24, minutes), tzinfo=zone)
    # Through UTC and back: a wall-clock time that does not exist becomes the one an hour later.
    return datetime.fromtimestamp(naive.timestamp(), tz=zone)
