# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""What is wrong with a splice, how much, and on what thickness."""

from __future__ import annotations

import re
from typing import Any

from sitebot.understand import lexicon
from sitebot.understand.marks import Mark, Text

#: In the order of their claim where several are named.
DEFECTS = (
    "bulb_misaligned", "ribs_misaligned", "overlap", "thin_bead", "runout", "separation", "porosity", "bubbles", "char", "tensile", "unbonded", "misaligned",
)  # fmt: skip
_DENIED = re.compile(
    r"(?:^|(?<= ))(not|no|nor|ni|sin|without|zero|cero|isnt|aint|nothing|none|never|0|nada de|ningun|not a|is not a?)( (any|one|a|much|visible|more|its|not|is|quedo|encontre|hay|salio|trae|se|le|lo|la|les|me|nos|veo|ve|vi|vimos|tiene|tienen|tenia|traia|noto|nota|hallo|halle|presenta|aparece|aparecen|quedaron|hubo|ningun|ninguna|un|una|nada|de))*$"
)


def _hits(words: str, key: str) -> list[re.Match[str]]:
    return list(lexicon.pattern(f"defect.{key}").finditer(words))


def denied(words: str, start: int) -> bool:
    """The word that starts here is said not to be there."""
    return bool(_DENIED.search(words[:start].rstrip()))


def found_defects(words: str) -> list[tuple[int, str]]:
    """Defects affirmed in a padded stretch, by claim."""
    out = []
    every = {key: _hits(words, key) for key in DEFECTS}
    for rank, key in enumerate(DEFECTS):
        hits = [
            h
            for h in every[key]
            if not any(_covers(o, h) for k, others in every.items() if k != key for o in others)
            and (
                not denied(words, h.start())
                or "sin " in h.group()
                or (key in {"bulb_misaligned", "ribs_misaligned"} and " no" in h.group())
            )
        ]
        if hits:
            out.append((rank, key))
    return out


def _covers(other: re.Match[str], hit: re.Match[str]) -> bool:
    """A longer word around a shorter one: "hueco sin fundir" is no hole."""
    longer = other.end() - other.start() > hit.end() - hit.start()
    return longer and other.start() <= hit.start() and hit.end() <= other.end()


def defect_spans(words: str) -> list[tuple[int, int, str]]:
    """Where each defect is named, denied or not; of two that overlap the longer."""
    every = [(h, key) for key in DEFECTS for h in _hits(words, key)]
    return sorted((h.start(), h.end(), key) for h, key in every if not any(_covers(o, h) for o, _ in every))


def first_defect(words: str) -> str:
    """The defect with the best claim, or nothing."""
    found = found_defects(words)
    return found[0][1] if found else ""


def all_denied(words: str) -> bool:
    """Defects are named, and every one of them is denied."""
    named = any(_hits(words, key) for key in DEFECTS)
    return named and not found_defects(words)


def measures(text: Text, start: int, end: int) -> list[Mark]:
    """Lengths and shares in a stretch."""
    return [m for m in text.of("len", "pct", "pull") if start <= m.start < end]


def defect_facts(text: Text, start: int, end: int) -> dict[str, Any]:
    """Defect, value and thickness said in a stretch of a verdict."""
    row, places = text.row()
    chars = [i for i, p in enumerate(places[:-1]) if start <= p < end]
    words = f" {row[chars[0] : chars[-1] + 1].strip()} " if chars else " "
    name = first_defect(words)
    facts: dict[str, Any] = {"defect": name} if name else {}
    marks = measures(text, start, end)
    if marks and name:
        facts |= {"value": round(float(marks[0].value), 6), "unit": marks[0].unit}
        if len(marks) > 1 and marks[1].unit != "%" and name in {"unbonded", "misaligned"}:
            facts["thickness"] = float(marks[1].value)
    return facts
