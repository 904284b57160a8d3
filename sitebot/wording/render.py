"""Filling phrases with values. Knows how each language writes numbers, times, lists and counts; knows no trade.

A phrase is a template: ``{name}`` is a value, ``[...]`` is left out when a value in it is empty.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from functools import cache
from pathlib import Path
from typing import Any

from sitebot.message import Say, Term
from sitebot.rulebook import rules_folder
from sitebot.rulebook.yaml_text import read_yaml

_OPTIONAL = re.compile(r"\[([^\[\]]*)\]")
_VALUE = re.compile(r"\{(\w+)\}")
_AND = {"en": "and", "es": "y"}
_WEEKDAYS = {
    "en": ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"),
    "es": ("lun", "mar", "mié", "jue", "vie", "sáb", "dom"),
}
_MONTHS = {
    "en": ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
    "es": ("ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"),
}


@cache
def phrases(language: str) -> Mapping[str, str]:
    """Every phrase of a language by its key, from all files of replies/."""
    return _merged(rules_folder() / "words" / language / "replies")


@cache
def terms(language: str) -> Mapping[str, Sequence[str]]:
    """Every noun of a language: one and many."""
    return _merged(rules_folder() / "words" / language / "terms")


def _merged(folder: Path) -> dict[str, Any]:
    merged: dict[str, Any] = {}
    for path in sorted(folder.glob("*.yaml")):
        merged |= read_yaml(path) or {}
    return merged


def has_phrase(key: str) -> bool:
    return key in phrases("en")


def render(say: Say, language: str) -> str:
    """One sentence in ``language``. KeyError where the phrase is missing: a test demands the same keys everywhere."""
    template = str(phrases(language)[say.key])
    values = {name: value_text(value, language) for name, value in say.values.items()}

    def optional(match: re.Match[str]) -> str:
        return match[1] if all(values.get(name) for name in _VALUE.findall(match[1])) else ""

    filled = _OPTIONAL.sub(optional, template)
    return " ".join(_VALUE.sub(lambda m: values.get(m[1], ""), filled).split())


def render_all(says: Iterable[Say], language: str) -> str:
    """The sentences of one message, in order; one that two acts would say alike is said once."""
    return " ".join(dict.fromkeys(text for say in says if (text := render(say, language))))


def value_text(value: object, language: str) -> str:
    """A value as the language writes it."""
    match value:
        case None:
            return ""
        case Say():
            return render(value, language)
        case Term(key=key, count=count):
            one_many = terms(language)[key]
            return one_many if isinstance(one_many, str) else one_many[0 if count == 1 else -1]
        case bool() | str() | int():
            return str(value)
        case float():
            return f"{value:.2f}".rstrip("0").rstrip(".")
        case datetime():
            return clock_text(value.time())
        case time():
            return clock_text(value)
        case date():
            return date_text(value, language)
        case Mapping():
            return str(value.get(language) or value.get("en", ""))
        case list() | tuple() | frozenset():
            return list_text(list(value), language)
    return str(value)


def clock_text(value: time) -> str:
    """Twelve hours and am or pm, as crews of both languages write it."""
    return f"{value.hour % 12 or 12}:{value.minute:02d} {'am' if value.hour < 12 else 'pm'}"


def date_text(value: date, language: str) -> str:
    day, month = _WEEKDAYS[language][value.weekday()], _MONTHS[language][value.month - 1]
    return f"{day} {month} {value.day}" if language == "en" else f"{day} {value.day} {month}"


def list_text(values: Sequence[object], language: str) -> str:
    """Numbers as ranges ("1-4, 6"); sentences one after the other; anything else as names in a row."""
    if values and all(isinstance(v, Say) for v in values):
        texts = [value_text(v, language) for v in values]
        return ("; " if any("," in text for text in texts) else ", ").join(texts)
    if values and all(isinstance(v, int) for v in values):
        return ranges_text([int(str(v)) for v in values])
    words = [value_text(v, language) for v in values]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {_AND[language]} {words[-1]}"


def ranges_text(numbers: Sequence[int]) -> str:
    """1, 2, 3, 5 -> "1-3, 5"."""
    runs: list[list[int]] = []
    for n in sorted(set(numbers)):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}-{b}" if b > a + 1 else f"{a}, {b}" for a, b in runs)
