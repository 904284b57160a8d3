"""Weather and shelter as people tell them: kept with their time, shown with the splices made after."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import WeatherTold
from sitebot.message import Say, Term
from sitebot.record import WEATHER_PARTS, Weather, weather_at
from sitebot.respond.dates import moment_of
from sitebot.respond.desk import Answer, Desk

KNOWN = {
    "rain": ("none", "light", "heavy", "snow", "fog"),
    "wind": ("calm", "light", "strong"),
    "shelter": ("tent", "tarp", "building", "umbrella", "other", "none"),
}
WET = ("light", "heavy", "snow")
UNDER_COVER = ("tent", "tarp", "building", "other")
#: No air on a site is colder or hotter [F].
AIR_F = (-60.0, 140.0)


def answer(act: Act, desk: Desk) -> Answer:
    """Keep what was told, and say what wet or wind asks for where nobody told of a shelter."""
    moment = desk.said_at
    if act.facts.get("at"):
        moment = min(moment_of(str(act.facts["at"]), date.fromisoformat(desk.day), desk.said_at), desk.said_at)
    told = told_in(act.facts, moment, desk)
    if told is None:
        return Answer((Say("weather.what"),), "ask_back", asks=Unclear("weather"))
    now = weather_at([*desk.log.weather(told.day), _as_told(told, desk)], moment)
    says = [Say("weather.noted", {"parts": parts_said(_as_told(told, desk))})]
    return Answer((*says, *_cautions(now)), "record", entries=(told,))


def told_in(facts: Mapping[str, Any], moment: datetime, desk: Desk) -> WeatherTold | None:
    """The weather in the facts of a report, as an entry; None where there is none that can be."""
    words = {k: str(facts[k]) for k, values in KNOWN.items() if facts.get(k) in values}
    numbers = {
        name: float(facts[name])
        for name, (low, high) in (("air_f", AIR_F), ("humidity", (0, 100)), ("wind_mph", (0, 200)))
        if isinstance(facts.get(name), int | float) and low <= facts[name] <= high
    }
    if not (words or numbers):
        return None
    told: dict[str, Any] = {**words, **numbers}
    return WeatherTold(day=desk.day_of(moment), made_at=moment.isoformat(), **told)


def _as_told(entry: WeatherTold, desk: Desk) -> Weather:
    parts = {k: getattr(entry, k) for k in WEATHER_PARTS}
    return Weather(at=datetime.fromisoformat(entry.made_at), day=entry.day, by=desk.me, **parts)


def parts_said(w: Weather) -> list[Say | Term]:
    """What was told, part by part."""
    parts: list[Say | Term] = []
    if w.air_f is not None:
        parts.append(Say("weather.air", {"f": round(w.air_f), "c": round((w.air_f - 32) / 1.8)}))
    parts += [Term(f"{k}.{v}") for k in ("rain", "wind") if (v := getattr(w, k))]
    if w.wind_mph is not None:
        parts.append(Say("weather.wind_mph", {"mph": round(w.wind_mph), "kmh": round(w.wind_mph * 1.609344)}))
    if w.humidity is not None:
        parts.append(Say("weather.humidity", {"percent": round(w.humidity)}))
    return parts + ([Term(f"shelter.{w.shelter}")] if w.shelter else [])


def _cautions(now: Weather | None) -> tuple[Say, ...]:
    """Wet or wind without a roof or a screen that anybody told of."""
    if now is None or now.shelter in UNDER_COVER:
        return ()
    if now.rain in WET:
        return (Say("weather.wet"),)
    return (Say("weather.windy"),) if now.wind == "strong" else ()
