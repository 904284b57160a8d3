"""What was looked at, item by item, in a text of nothing else: "12 visual ok bend ok", "prueba de doblez mal la 9".

Words are data (rules/words/<language>/findings.yaml). One item that is well is no verdict: the splice goes on waiting.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from sitebot.acts import Act
from sitebot.rulebook.word_lists import word_lists
from sitebot.understand.spelling import fold

LONGEST = 100
#: What has a fact of its own; any other item is one of the checks.
LOOKED_AT = ("visual", "bend")
#: So many items, all well and the bend among them, are an acceptance; one is none.
ENOUGH = 2
_NUMBERS = re.compile(r"\d{1,6}(?: ?(?:,|and|y|e|&) ?\d{1,6})*")


def found_only(text: str) -> Act | None:
    """The findings of a text that tells nothing else; None for any other."""
    row = f" {' '.join(re.sub(r'[.,;:#!]+', ' ', fold(text)).split())} "
    if "?" in row or len(row) > LONGEST:
        return None
    numbers = _NUMBERS.findall(row)
    found, rest = _pairs(row)
    if len(numbers) != 1 or not found:
        return None
    verdict, rest = _verdict(_NUMBERS.sub(" ", rest))
    if set(rest.split()) - _words("small"):
        return None
    facts: dict[str, Any] = {"numbers": [int(n) for n in re.findall(r"\d+", numbers[0])], **_facts(found)}
    all_well = set(found.values()) == {"ok"} and len(found) >= ENOUGH and "bend" in found
    if told := verdict or ("accept" if all_well else ""):
        facts["verdict"] = told
    if told == "reject" and found.get("bend") == "bad":
        facts["defect"] = "separation"
    return Act("report_inspection", facts)


def _pairs(row: str) -> tuple[dict[str, str], str]:
    """Each item with what was found of it, and the row without them."""
    found: dict[str, str] = {}

    def take(match: re.Match[str]) -> str:
        found[_items()[match["item"]]] = "bad" if match["result"] in _words("bad") else "ok"
        return " "

    rest = _pair().sub(take, row)
    return found, rest


def _verdict(row: str) -> tuple[str, str]:
    for verdict in ("accept", "reject"):
        for word in _words(verdict):
            if f" {word} " in row:
                return verdict, row.replace(f" {word} ", " ")
    return "", row


def _facts(found: Mapping[str, str]) -> dict[str, Any]:
    checks = {key.removeprefix("item."): value for key, value in found.items() if key.startswith("item.")}
    facts: dict[str, Any] = {key: value for key, value in found.items() if key in LOOKED_AT}
    return {**facts, **({"checks": checks} if checks else {})}


def _words(name: str) -> frozenset[str]:
    return frozenset(word_lists("findings")[name])


@cache
def _items() -> dict[str, str]:
    """The words for what is looked at, each with the key of its fact."""
    named = {k: words for k, words in word_lists("findings").items() if k in LOOKED_AT or k.startswith("item.")}
    return {word: key for key, words in named.items() for word in words}


@cache
def _pair() -> re.Pattern[str]:
    items, results = (
        "|".join(map(re.escape, sorted(words, key=len, reverse=True)))
        for words in (_items(), _words("ok") | _words("bad"))
    )
    return re.compile(rf"(?<!\w)(?P<item>{items})(?: (?:test|is|was|are))? (?P<result>{results})(?!\w)")
