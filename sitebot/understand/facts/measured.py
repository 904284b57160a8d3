"""How a temperature was measured, where its text says so: what stands after the heat, else before it.

Nothing is taken for granted: an instrument that is only spoken of ("no pyro today", "turned the dial down") measured
nothing. The words are rules/words/<language>/facts.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from sitebot.acts import Act
from sitebot.rulebook.word_lists import word_lists
from sitebot.understand.facts import words
from sitebot.understand.marks import Mark, Text

#: Ways to measure, as a fact names them. A pyrometer that is not told to be of either kind stays one.
WAYS = ("infrared", "contact", "pyrometer", "dial", "stick")
#: A number that is marked as no heat may still be one from here on [F]: "iron 1 372".
LEAST_F = 250


@cache
def instruments() -> frozenset[str]:
    """Every word that names one, so that it is neither mended nor taken for a name."""
    phrases = " ".join(p for way in WAYS for p in word_lists("facts")[f"by_{way}"])
    return frozenset(re.findall(r"[a-z]+", phrases))


def measured(acts: list[Act], text: Text) -> list[Act]:
    """The acts, those with a heat told how it was measured."""
    heats = [m for m in text.of("temp", "n") if isinstance(m.value, int | float)]
    if not any(m.kind == "temp" or m.value >= LEAST_F for m in heats) or not _ways(_words(text, 0, len(text.tokens))):
        return acts
    return [_with_way(act, heats, text) for act in acts]


def _with_way(act: Act, heats: Sequence[Mark], text: Text) -> Act:
    if (way := _way(act.facts, heats, text)) is not None:
        return replace(act, facts={**act.facts, "temp_by": way})
    change = act.facts.get("change")
    if isinstance(change, Mapping) and (way := _way(change, heats, text)) is not None:
        return replace(act, facts={**act.facts, "change": {**change, "temp_by": way}})
    return act


def _way(facts: Mapping[str, Any], heats: Sequence[Mark], text: Text) -> str | None:
    """Of the first heat that these facts hold."""
    told = facts.get("temp_f")
    values = told if isinstance(told, list) else [told]
    at = next((i for i, mark in enumerate(heats) if mark.value in values), None)
    if at is None:
        return None
    end = heats[at + 1].start if at + 1 < len(heats) else len(text.tokens)
    near = _ways(_words(text, heats[at].end, end))[:1]
    near = near or _ways(_words(text, heats[at - 1].end if at else 0, heats[at].start))[-1:]
    all_told = set(_ways(_words(text, 0, len(text.tokens))))
    return near[0] if near else all_told.pop() if len(all_told) == 1 else None


def _words(text: Text, start: int, end: int) -> str:
    """The words of a stretch as they stand, padded; numbers and commas too."""
    return f" {' '.join(t.word for t in text.tokens[start:end])} "


def _ways(said: str) -> list[str]:
    """The ways named in padded words, in their order."""
    found = [(hit.start(), way) for way in WAYS for hit in words.pattern(f"by_{way}").finditer(said)]
    denied = {hit.end() + 1 for hit in words.pattern("without_it").finditer(said)}
    return [way for start, way in sorted(found) if start not in denied]
