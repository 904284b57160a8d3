# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Rework and damage: what the crew reports of splices already made."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.inspections import splice_rows
from sitebot.understand.marks import Text
from sitebot.understand.people import welders

_NOT_DONE = re.compile(
    r" (not yet|have not|has not|havent|hasnt|hasnae|still|not touched|nobody has touched|not redone|new one goes|will redo|will cut|tomorrow|the morra|first thing|waiting on|ran outta time|hold your breath|not put back|cutting it back|after lunch|to go|needs|need to|todavia|aun|falta|sigue|manana|hay que repetirlo|a medio|no hemos|que se rehaga|rehacemos|rehagan|pendiente|lo corto|lo rehacemos|not been|going to|open|hasn t) "
)
_DONE = re.compile(
    r" (done|redid|rewelded|redone|fixed|replaced|complete|completed|finished|is in|made it new|went in good|made again|ready|ya|rehice|rehicimos|rehizo|repetimos|quedo|terminado|repuesto|vueltos|rehechas|removed|stuck back) "
)


def _numbers(text: Text) -> list[int]:
    found: list[int] = []
    for row in splice_rows(text):
        after = " ".join(text.word(i) for i in range(row.end, row.end + 2))
        if (
            re.match(
                r"(rejects|malas|malos|two|times|other|tries|pegas|hours|de los|nails|screws|clavos|holes|joints|redo|did get made|tajos|feet|bolts)",
                after,
            )
            and len(row.numbers) == 1
            and not row.signed
        ):
            continue
        if (
            text.word(row.start - 1) in {"all", "las", "los", "other", "con", "took"}
            and len(row.numbers) == 1
            and row.numbers[0] <= 9
            and not (row.signed and text.word(row.start) not in {"las", "los"})
        ):
            continue
        if text.word(row.start) in {"las", "los"} and len(row.numbers) == 1 and row.numbers[0] <= 9:
            continue
        found += [n for n in row.numbers if isinstance(n, int) and n not in found]
    return found


def report_rework(text: Text, context: Context) -> list[Act]:
    """Rejected splices cut out and made again, or not yet."""
    row = text.row()[0]
    left = re.search(r" only <n> is left ", row)
    numbers = _numbers(text)
    done = not _NOT_DONE.search(row) or (
        bool(
            re.search(
                r" (redid|rewelded|redone|ya rehic\w+|done over|ya repetimos|replaced|ya quedo|ya quedaron|vueltos a soldar|ya estan otra vez|rewelded it|lo hicimos de nuevo|volvimos a) ",
                row,
            )
        )
        and not re.search(r" (not|no|todavia|still|sigue|hasnt|have not|has not) ", row)
    )
    later = any(words.says("later_day", f" {m.raw.lower()} ") for m in text.of("date"))
    if later and not words.says("made_again", row):
        done = False
    facts: dict[str, Any] = {"done": done}
    if left and len(numbers) > 1:
        open_one, rest = numbers[0], numbers[1:]
        return [
            Act("report_rework", {"numbers": rest, "done": True}),
            Act("report_rework", {"numbers": [open_one], "done": False}),
        ]
    if numbers:
        facts["numbers"] = numbers
    add_common(facts, text, context)
    return [Act("report_rework", facts)]


def add_common(facts: dict[str, Any], text: Text, context: Context) -> None:
    for kind, key in (("iron", "iron"), ("place", "place"), ("time", "at")):
        marks = text.of(kind)
        if marks:
            facts[key] = marks[0].value
    heats = text.of("temp")
    if heats:
        facts["temp_f"] = heats[-1].value
    names = welders(text, context.gazetteer, context.role == "crew")
    if names:
        facts["welders"] = names


def report_damage(text: Text, context: Context) -> list[Act]:
    """Damage to a splice or a stretch after it was made."""
    facts: dict[str, Any] = {"what": _what(text)}
    numbers = _numbers(text)
    numbers = [n for n in numbers if n > 1]
    if numbers:
        facts["numbers"] = numbers
    places = text.of("place")
    if places:
        facts["place"] = places[0].value
    return [Act("report_damage", facts)]


def _what(text: Text) -> str:
    hits = list(text.find("damage"))
    return text.raw(*hits[0]) if hits else text.raw(0, len(text.tokens))[:60]
