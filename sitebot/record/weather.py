"""The weather a splice was made in, as far as somebody told it that day. Nothing is measured or looked up here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from datetime import datetime

from sitebot.record.values import Weather

#: What may be told of it.
WEATHER_PARTS = tuple(f.name for f in fields(Weather) if f.name not in ("at", "day", "by"))


def weather_at(told: Iterable[Weather], moment: datetime | None) -> Weather | None:
    """The last word on each part by that moment; None where nobody had told anything yet."""
    found: Weather | None = None
    for word in sorted(told, key=lambda w: w.at):
        if moment is not None and word.at <= moment:
            new = {name: value for name in WEATHER_PARTS if (value := getattr(word, name)) is not None}
            found = replace(found, at=word.at, by=word.by, **new) if found else word
    return found
