"""Sample welds: which came out how, on which iron, by whom. The verdict of a stretch is told in tested.py."""

from __future__ import annotations

import itertools
import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.clauses import clauses, part
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.tested import is_bare, named_defect, outcome
from sitebot.understand.facts.watched import witnesses
from sitebot.understand.marks import Mark, Text
from sitebot.understand.people import welders

#: No site has more irons than fingers.
_IRONS = 9
#: A pulled sample is good from this share of the parent on [%]; UFGS-03150A, 3.2.3.3.
_STRENGTH = 80


def report_sample(text: Text, context: Context) -> list[Act]:
    """The samples of a text: one act each where they came out differently or on irons of their own."""
    pieces = _pieces(text)
    told = [outcome(_row(p)) or is_bare(_row(p)) for p in pieces]
    if (len(pieces) > 1 and _own_irons(pieces)) or len(set(told)) > 1:
        if told[-1] == "fail" and words.says("samples.first", _row(pieces[-1])):
            # The earlier one told last is why there was another; the state of things is what passed since.
            pieces, told = pieces[:-1], told[:-1]
        return [Act("report_sample", _facts(p, v, context)) for p, v in zip(pieces, told, strict=True)]
    facts = _facts(text, outcome(_row(text)), context)
    irons = [str(m.value) for m in text.of("iron") if m.value != "all"]
    if len(irons) > 1 and len(set(irons)) == len(irons) and _listed(text):
        return [Act("report_sample", {**facts, "iron": iron}) for iron in irons]
    return [Act("report_sample", facts)]


def _row(text: Text) -> str:
    return text.row()[0]


def _listed(text: Text) -> bool:
    """ "planchas 1 y 2": irons side by side."""
    return all(b.start - a.end <= 2 for a, b in itertools.pairwise(text.of("iron")))


def _own_irons(pieces: list[Text]) -> bool:
    named = [{str(m.value) for m in _irons(p)} for p in pieces]
    return all(named) and len(set.union(*named)) == len(pieces)


def _pieces(text: Text) -> list[Text]:
    """The text cut where another sample begins, at an ordinal, another iron, another welder; each tells its own."""
    starts = [0]
    for start, end in clauses(text):
        first = True
        for at in _named_at(text, start, end):
            cut = start if first else at
            first = False
            if cut > starts[-1] and _tells(text, starts[-1], cut) and _tells(text, cut, _next(text, at)):
                starts.append(cut)
    return [part(text, a, b) for a, b in itertools.pairwise([*starts, len(text.tokens)])]


def _next(text: Text, at: int) -> int:
    """Where the next sample is named, or the end."""
    later = [n for n in _named_at(text, 0, len(text.tokens)) if n > at + 1]
    return later[0] if later else len(text.tokens)


def _tells(text: Text, start: int, end: int) -> bool:
    said = _row(part(text, start, end))
    return bool(outcome(said) or is_bare(said))


def _named_at(text: Text, start: int, end: int) -> list[int]:
    """Where a clause names a sample apart from others."""
    row, places = text.row()
    keys = ("samples.first", "samples.second", "samples.of_one")
    found = {places[m.start()] for key in keys for m in words.pattern(key).finditer(row)}
    found |= {_lead(text, m.start) for m in _irons(text)}
    return sorted(at for at in found if start <= at < end)


def _lead(text: Text, at: int) -> int:
    """The first of the small words before an iron: "con la", "en la", "on the"."""
    while (
        at
        and text.free(at - 1)
        and text.word(at - 1) in {"la", "con", "en", "de", "el", "on", "the", "with", "off", "from", "and", "y"}
    ):
        at -= 1
    return at


def _irons(text: Text) -> list[Mark]:
    """The irons named, and numbers that can only be irons: "la 1 dio buena", "con la 2"."""
    bare = [
        m for m in text.of("n") if text.word(m.start - 1) == "la" and isinstance(m.value, int) and m.value <= _IRONS
    ]
    return sorted([*text.of("iron"), *bare], key=lambda m: m.start)


def _facts(text: Text, verdict: str, context: Context) -> dict[str, Any]:
    """The verdict, and what was wrong where something was; iron, heat, time and people."""
    facts: dict[str, Any] = {"verdict": verdict} | _circumstances(text, context)
    pulled = _pulled(text, verdict)
    defect = named_defect(_row(text)) if verdict == "fail" else ""
    return facts | ({"defect": defect} if defect else {}) | pulled


def _circumstances(text: Text, context: Context) -> dict[str, Any]:
    facts: dict[str, Any] = {}
    numbers = text.of("n")
    if irons := text.of("iron"):
        facts["iron"] = irons[0].value
    elif numbers and re.search(r" (la|con la|iron|on|off|from) <n> ", _row(text)) and _is_iron(numbers[0].value):
        facts["iron"] = str(numbers[0].value)
    for kind, key in (("temp", "temp_f"), ("time", "at")):
        if marks := text.of(kind):
            facts[key] = marks[0].value
    names = welders(text, context.gazetteer, context.role == "crew")
    if seen := witnesses(text, names, context):
        facts["witness"] = seen
    if made := [n for n in names if n not in seen]:
        facts["welders"] = made
    return facts


def _is_iron(number: object) -> bool:
    return isinstance(number, int) and number <= _IRONS


def _pulled(text: Text, verdict: str) -> dict[str, Any]:
    """Pulled apart: its share of the parent's strength is the verdict."""
    share = text.of("pct")
    if not share or (verdict and not words.says("samples.pulled", _row(text))):
        return {}
    told = {"value": share[0].value, "unit": "%"}
    return told | ({"verdict": "pass"} if share[0].value >= _STRENGTH else {"verdict": "fail", "defect": "tensile"})
