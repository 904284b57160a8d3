# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Practice, safety, power, readiness and dangers: the topic asked about and the figures proposed.

The answer is found in the rulebook; ``text`` carries the tidied words for its search.
"""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand import lexicon
from sitebot.understand.context import Context
from sitebot.understand.marks import Text
from sitebot.understand.quantities import FEET_FOR

_TOPICS = (
    "cutting_tool", "power_supply", "melt_test", "pressing", "crew_size", "iron_size", "cover", "same_people", "wind", "bead", "sample", "preheat",
    "cooling", "method", "temperature", "other",
)  # fmt: skip
_SAFE = ("first_aid", "gloves", "electric", "ventilation", "fumes", "fire", "cooling", "burns")
_DANGERS = (
    "torch",
    "quench",
    "no_gloves",
    "alone",
    "cut_good_splice",
    "glue",
    "solvent",
    "mechanical",
    "lap",
    "knife_miter",
    "bad_cord",
    "fumes",
    "other",
)


def tidied(text: Text) -> str:
    """The words of the text, spelling mended and shorthand written out."""
    return " ".join(
        m.raw if (m := text.mark_at(i)) and m.start == i else t.word
        for i, t in enumerate(text.tokens)
        if not ((k := text.mark_at(i)) and k.start != i)
    )


def _topic(text: Text, prefix: str, names: tuple[str, ...]) -> str:
    """The topic with the most hits, the more particular first."""
    row = text.row()[0]
    hits = [
        (len(lexicon.pattern(f"{prefix}.{n}").findall(row)), -i, n)
        for i, n in enumerate(names)
        if f"{prefix}.{n}" in lexicon.phrases()
    ]
    best = max(hits, default=(0, 0, "other"))
    return best[2] if best[0] else "other"


def _proposed(text: Text) -> dict[str, Any]:
    """A figure that the text proposes."""
    for kind in ("temp", "len", "dur", "pct", "ang"):
        marks = text.of(kind)
        if marks:
            return {"value": marks[0].value, "unit": "F" if kind == "temp" else marks[0].unit}
    numbers = text.of("n")
    return {"value": numbers[0].value} if numbers else {}


def ask_practice(text: Text, context: Context) -> list[Act]:
    """A question of common practice."""
    return [Act("ask_practice", {"topic": _topic(text, "topic", _TOPICS), "text": tidied(text)} | _proposed(text))]


def ask_safety(text: Text, context: Context) -> list[Act]:
    """A question of safety, or somebody hurt."""
    return [Act("ask_safety", {"topic": _topic(text, "safe", _SAFE), "text": tidied(text)})]


def ask_power(text: Text, context: Context) -> list[Act]:
    """Cords, gauges, generators, breakers."""
    facts: dict[str, Any] = {"text": tidied(text)}
    row = text.row()[0]
    cord = _cord(text, row)
    if cord:
        facts["cord_ft"] = cord
    for kind, key in (("gauge", "awg"), ("watt", "generator_w"), ("mm2", "mm2")):
        marks = text.of(kind)
        if marks:
            facts[key] = marks[0].value
    amps = text.of("amp")
    if amps:
        facts["breaker_a"] = amps[0].value
    _volts(facts, text, row)
    irons = _irons(text, row)
    if irons:
        facts["irons"] = irons
    return [Act("ask_power", facts)]


def _cord(text: Text, row: str) -> float | None:
    marks = [m for m in text.of("len") if m.unit in {"ft", "m"}]
    if not marks:
        return None
    feet = float(marks[0].value) * FEET_FOR[marks[0].unit]
    counts = [
        m for m in text.of("n") if m.value in {2, 3, 4} and m.end <= marks[0].start and marks[0].start - m.end <= 3
    ]
    if counts and re.search(r" (two|joined|end to end|plus|pegadas|cada una?|junto|connected|footers?|<n>) ", row):
        feet *= int(counts[-1].value)
    elif len(marks) > 1 and re.search(r" (plus|and|mas|y|connected|joined) ", row):
        feet = sum(float(m.value) * FEET_FOR[m.unit] for m in marks)
    return round(feet)


def _volts(facts: dict[str, Any], text: Text, row: str) -> None:
    marks = text.of("volt")
    values = [m.value for m in marks] + [
        m.value for m in text.of("n") if m.value in {110, 115, 120, 208, 220, 230, 240}
    ]
    if values:
        outlet = re.search(
            r" (?:in|en|outlet|toma|contacto|all we got is|at|es de|todo es|outlet es de)(?: \w+){0,3} (<n>|<volt>)",
            row,
        )
        index = _order(text, row, outlet.end() - 1) if outlet else 0
        facts["volts"] = index or values[0]


def _order(text: Text, row: str, char: int) -> Any:
    places = text.row()[1]
    mark = text.mark_at(places[min(char, len(places) - 1)])
    return mark.value if mark and isinstance(mark.value, (int, float)) else None


def _irons(text: Text, row: str) -> int | None:
    many = re.search(r" (both irons|las dos planchas|ambas planchas) ", row) or any(
        m.value == "all" for m in text.of("iron")
    )
    for mark in text.of("n"):
        after = " ".join(text.word(i) for i in range(mark.end, mark.end + 3))
        if (
            re.match(r"(irons?|planchas?|de ellas|of them)\b", after)
            and isinstance(mark.value, int)
            and mark.value < 12
        ):
            return mark.value
    if many:
        return 2
    return (
        1
        if re.search(
            r" (one iron|an iron|una plancha|una sola plancha|the iron|la plancha|this thing|one of (these|dese)|<iron>) ",
            row,
        )
        else None
    )


def ask_ready(text: Text, context: Context) -> list[Act]:
    """Whether the iron is at welding heat."""
    facts: dict[str, Any] = {}
    row = text.row()[0]
    if text.of("iron"):
        facts["iron"] = text.of("iron")[0].value
    heats = text.of("temp")
    if heats:
        facts["temp_f"] = heats[0].value
    durations = [m for m in text.of("dur") if m.unit == "min"]
    if durations:
        facts["minutes_on"] = durations[0].value
    seconds = [m for m in text.of("dur") if m.unit == "s"]
    if seconds:
        facts["melt_s"] = seconds[0].value
    if (
        not durations
        and re.search(r" (just|apenas|only this minute|acabo de) ", row)
        and re.search(r" (plug\w*|enchuf\w*|conect\w*) ", row)
    ):
        facts["minutes_on"] = 0
    times = text.of("time")
    if times:
        facts["plugged_at"] = times[0].value
    return [Act("ask_ready", facts)]


def unsafe_plan(text: Text, context: Context) -> list[Act]:
    """A plan that would hurt somebody or the joint."""
    row = text.row()[0]
    danger = next((d for d in _DANGERS if lexicon.pattern(f"danger.{d}").search(row)), "other")
    return [Act("unsafe_plan", {"danger": danger, "text": tidied(text)})]
