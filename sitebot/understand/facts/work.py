# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Rework and damage: what the crew reports of splices already made."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.clauses import clauses, part, sentences
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import before, between
from sitebot.understand.facts.elsewise import counts_else
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.rows import Row
from sitebot.understand.facts.verdicts import verdict_of
from sitebot.understand.marks import Text
from sitebot.understand.people import welders


def report_rework(text: Text, context: Context) -> list[Act]:
    """Rejected splices cut out and made again, or not yet; sentences that differ are two acts."""
    by_sentence = _by_stretch(text, context, sentences(text))
    split = by_sentence or _by_stretch(text, context, clauses(text)) or _by_number(text)
    if split:
        return split
    numbers = named_splices(text)
    facts: dict[str, Any] = {"done": is_redone(text)}
    if re.search(r" only <n> is left ", text.row()[0]) and len(numbers) > 1:
        return [_act(numbers[1:], True), _act(numbers[:1], False)]
    if numbers:
        facts["numbers"] = numbers
    if numbers and (named := [n for r in splice_rows(text) if _is_new(text, r) for n in r.numbers]):
        facts["new_numbers"] = named
    add_common(facts, text, context)
    return [Act("report_rework", facts)]


def _is_new(text: Text, row: Row) -> bool:
    """ "ahora es el 48": the number of the new weld."""
    return words.ends("named_now", before(text, row.first))


def _act(numbers: list[int], done: bool) -> Act:
    return Act("report_rework", {"numbers": numbers, "done": done})


def _by_stretch(text: Text, context: Context, stretches: list[tuple[int, int]]) -> list[Act]:
    """ "Will redo 44 after lunch. 45 did get made": one act for each state; nothing where all sentences agree."""
    states: dict[bool, list[int]] = {}
    aside = False
    for start, end in stretches:
        own = part(text, start, end)
        numbers = named_splices(own)
        row = own.row()[0]
        later, again = _is_later(own) or words.says("still_open", row), words.says("redone", row)
        if numbers and is_relayed(own, context) and verdict_of(row) and not again:
            aside = True
        elif numbers and later != again:
            states.setdefault(again, []).extend(numbers)
        elif numbers:
            return []
    if len(states) < 2 and not aside:
        return []
    return [_act(numbers, done) for done, numbers in states.items()]


def _by_number(text: Text) -> list[Act]:
    """ "redid 44 and 45, 46 still out": each number with what is said behind it, or at the head of all."""
    named = set(named_splices(text))
    marks = [m for m in text.of("n") if m.value in named]
    if len(marks) < 2:
        return []
    lead = words.says("redone", between(text, 0, marks[0].start))
    states: list[bool | None] = []
    for mark, end in zip(marks, [*(m.start for m in marks[1:]), len(text.tokens)], strict=True):
        tail = between(text, mark.end, end)
        still, again = words.says("still_open", tail), words.says("redone", tail)
        if still and again:
            return []
        states.append(again if still or again else True if lead else None)
    told = [next((s for s in states[i:] if s is not None), None) for i in range(len(states))]
    if len(named) != len(marks) or set(told) != {True, False}:
        return []
    return [_act([m.value for m, s in zip(marks, told, strict=True) if s is done], done) for done in (True, False)]


def _is_later(text: Text) -> bool:
    return any(words.says("later_day", f" {m.raw.lower()} ") for m in text.of("date"))


def is_redone(text: Text) -> bool:
    """Told as done: what is surely done stands above a word of what is open."""
    row = text.row()[0]
    if words.says("redone_surely", row):
        return True
    open_still = words.says("still_open", row) or (_is_later(text) and not words.says("redone", row))
    open_still = open_still or bool(re.search(r" (not|nt|no|aint|isnt|hasnt|never) (\w+ ){0,3}(yet|todavia|aun) ", row))
    doubt = re.search(r" (not|no|todavia|still|sigue|hasnt|have not|has not|to be|hay que|hay q) ", row)
    return not open_still or bool(words.says("redone", row) and not doubt)


def named_splices(text: Text) -> list[int]:
    """Splices that a report of rework or damage names, not tries, holes or people."""
    found: list[int] = []
    for row in splice_rows(text):
        mark = text.mark_at(row.first)
        if mark is not None and not row.signed and len(row.numbers) == 1 and counts_else(text, mark):
            continue
        if found and _is_new(text, row):
            continue
        after = " ".join(text.word(i) for i in range(row.end, row.end + 2))
        if (
            re.match(
                r"(rejects|malas|malos|two|times|other|tries|pegas|hours|de los|nails|screws|clavos|holes|joints|redo|did get made|tajos|feet|bolts)\b",
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
    numbers = [n for n in named_splices(text) if n > 1] or _struck(text)
    if numbers:
        facts["numbers"] = numbers
    places = text.of("place")
    if places:
        facts["place"] = places[0].value
    return [Act("report_damage", facts)]


def _struck(text: Text) -> list[int]:
    """ "a nail right thru 2": the number of what was hit."""
    return [
        m.value
        for m in text.of("n")
        if isinstance(m.value, int) and words.ends("struck", before(text, m.start)) and not counts_else(text, m)
    ]


def _what(text: Text) -> str:
    hits = list(text.find("damage"))
    return text.raw(*hits[0]) if hits else text.raw(0, len(text.tokens))[:60]
