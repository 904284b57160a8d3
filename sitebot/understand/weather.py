# ruff: noqa: E501 - an expression is easier to keep whole
"""The weather and the shelter in a text that speaks of nothing else, from the words of rules/words/<language>/weather.yaml.

Every word must be one of the weather's or one that means nothing by itself; else it is some other text with rain in it.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from sitebot.acts import Act
from sitebot.rulebook.word_lists import word_lists
from sitebot.understand.spelling import fold

#: No air is hotter [F], no wind faster: a number above is an iron's, or something else's.
HOTTEST_F = 130
#: "2 grados" alone may be either scale up to here; it is not taken for one of them.
EITHER_SCALE = 45
LONGEST = 120
_STOPS = re.compile(r"[,;!.]+(?=\s|$)")
_AIR = re.compile(
    r"(?P<n>-?\d{1,3}) ?(?P<unit>degrees fahrenheit|degrees f|degrees c|degrees|deg f|deg c|deg|grados f|grados c|grados|f|c|°f|°c|°)(?!\w)"
)
_BARE_AIR = re.compile(r"(?<![\d.])(?P<n>-?\d{1,3})(?! ?(?:mph|kmh|km/h|%|percent|por ciento|\d))(?![\d.])")
_WIND = re.compile(r"(?P<n>\d{1,3}) ?(?P<unit>mph|miles an hour|kmh|km/h|kph|millas por hora|millas)")
_HUMIDITY = re.compile(
    r"(?P<n>\d{1,3}) ?(?:%|percent|por ciento)(?: de)?(?: humidity| humedad)|(?:humidity|humedad)(?: de| of| at)? (?P<m>\d{1,3}) ?%?"
)
KMH = 1.609344


def weather(text: str) -> Act | None:
    """The weather that a text tells; None where it tells anything else too."""
    row = f" {' '.join(_STOPS.sub(' ', fold(text)).split())} "
    if "?" in row or len(row) > LONGEST or (len(row.split()) == 1 and row.strip() not in _list("alone")):
        return None
    if any(int(n) > HOTTEST_F for n in re.findall(r"\d+", row)):
        return None
    facts: dict[str, Any] = {}
    row = _cut(_HUMIDITY, row, lambda m: facts.update(humidity=float(m["n"] or m["m"])))
    row = _cut(_WIND, row, lambda m: facts.update(wind="strong" if _mph(m) >= 20 else "light", wind_mph=round(_mph(m))))
    told, row = _words(row)
    facts = {**facts, **told}
    spoken = bool(facts)
    row = _cut(_AIR, row, lambda m: facts.update(_air(m)))
    spoken = spoken or any(f" {word} " in row for word in _list("of_the_air"))
    if spoken and "air_f" not in facts:
        row = _cut(_BARE_AIR, row, lambda m: facts.update(_air(m)))
    if not spoken or set(row.split()) - _list("small"):
        return None
    return Act("report_weather", facts)


def _cut(sign: re.Pattern[str], row: str, take: Any) -> str:
    """The row without what the sign found; at most one."""
    found = sign.search(row)
    if found is None:
        return row
    take(found)
    return f"{row[: found.start()]} {row[found.end() :]}"


def _mph(found: re.Match[str]) -> float:
    return float(found["n"]) / (KMH if found["unit"].startswith("k") else 1)


def _air(found: re.Match[str]) -> dict[str, float]:
    """Degrees of the air in F; nothing where they are an iron's or of a scale nobody named."""
    value, unit = float(found["n"]), found.groupdict().get("unit") or ""
    if unit.endswith("c"):
        value = value * 1.8 + 32
    elif unit == "grados" and value <= EITHER_SCALE:
        return {}
    return {"air_f": round(value)}


def _words(row: str) -> tuple[dict[str, str], str]:
    """What the words of the weather say, the longest first, and the row without them."""
    facts: dict[str, str] = {}
    for phrase, key, value in _phrases():
        if f" {phrase} " in row:
            row = row.replace(f" {phrase} ", " ")
            facts.setdefault(key, value)
    return facts, row


@cache
def _phrases() -> tuple[tuple[str, str, str], ...]:
    found = []
    for name, phrases in word_lists("weather").items():
        key, _, value = name.partition(".")
        found += [(phrase, key, value) for phrase in phrases if value]
    return tuple(sorted(found, key=lambda row: len(row[0]), reverse=True))


def _list(name: str) -> frozenset[str]:
    return frozenset(word_lists("weather")[name])
