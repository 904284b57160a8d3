"""Every number of a report explained: it stands in a fact, or counts something that is no splice, or is said not to be.

What is left over makes a report a question; which question is told in doubt.py.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Mapping
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.amends import old_numbers
from sitebot.understand.facts.around import after
from sitebot.understand.facts.counts import count_up, is_other
from sitebot.understand.facts.elsewise import is_elsewise
from sitebot.understand.facts.inspections import set_aside
from sitebot.understand.facts.judged import counts
from sitebot.understand.facts.rows import excepted, rows
from sitebot.understand.marks import Mark, Text


def left_over(acts: list[Act], text: Text, context: Context) -> list[int]:
    """Plain numbers of the text that no act accounts for."""
    known = {*_values(a.facts for a in acts), *excepted(text)[0]}
    known |= {len(a.facts["numbers"]) for a in acts if isinstance(a.facts.get("numbers"), list)}
    name = acts[0].name
    if any(a.name == "report_inspection" for a in acts):
        known |= set(set_aside(text))
    if name == "amend":
        known |= set(old_numbers(text))
    if name == "report_splices":
        known |= _parts(acts, text, context)
    loose = _run_together(text)
    for mark in text.of("n", "range"):
        values = mark.value if isinstance(mark.value, list) else [mark.value]
        missed = [v for v in values if isinstance(v, int) and v not in known]
        if missed and not is_elsewise(text, mark) and not _is_harmless(name, acts, text, mark):
            loose += missed
    return loose


def _run_together(text: Text) -> list[int]:
    """ "tres quince": numbers in words side by side may be one number or two."""
    found = []
    for left, right in itertools.pairwise(text.of("n")):
        spelled = text.tokens[left.start].spelled and text.tokens[right.start].spelled
        if spelled and left.end == right.start and right.value != left.value + 1:
            found += [left.value, right.value]
    return found + [m.value for m in text.of("n") if _is_misheard(text, m)]


def _is_misheard(text: Text, mark: Mark) -> bool:
    """ "splice forty to has pores", "won thirty nine": a word beside a number in words that may be part of it."""
    if not text.tokens[mark.start].spelled or not isinstance(mark.value, int):
        return False
    behind = words.is_only("dictated", f" {text.word(mark.end)} ")
    ahead = text.word(mark.start - 1) in {"won", "ate", "sicks"}
    return ahead or (behind and 20 <= mark.value < 100 and mark.value % 10 == 0)


def _parts(acts: list[Act], text: Text, context: Context) -> set[int]:
    """The parts that a count was summed from, and numbers that are told not to be made."""
    told = {n for row in rows(text) if is_other(text, row) for n in row.numbers}
    found = count_up(text, context)
    count = acts[0].facts.get("count")
    if found.counts and count == found.total:
        told |= {c for c, _, _ in found.counts} | set(found.running)
    return told


def _is_harmless(name: str, acts: list[Act], text: Text, mark: Mark) -> bool:
    """Numbers that cannot be mistaken for what this act records."""
    value = mark.value if isinstance(mark.value, int) else 0
    signs = {text.word(mark.start - 1), text.word(mark.start - 2)}
    if text.tokens[mark.start].spelled and (value == 1 or _points_back(text, mark)):
        return True
    if name == "report_sample":
        return (value <= 12 and not signs & {"la", "el", "iron", "plancha", "y"}) or bool(text.of("pct"))
    if name == "report_iron":
        return bool(signs & {"splice", "empalme", "#"})
    if name == "report_inspection" and any(counts(text, r) for r in rows(text) if r.start <= mark.start < r.end):
        return True
    wide = name == "report_inspection" and not any(isinstance(a.facts.get("numbers"), list) for a in acts)
    return wide and value <= 40


def _points_back(text: Text, mark: Mark) -> bool:
    """ "the two are side by side": what was named before."""
    return text.word(mark.start - 1) in {"the", "los", "las"} and words.begins("they_are", after(text, mark.end))


def _values(things: Iterable[Any]) -> Iterable[int]:
    """All whole numbers in facts, those inside names and sizes too."""
    for thing in things:
        if isinstance(thing, Mapping):
            yield from _values(thing.values())
        elif isinstance(thing, list | tuple):
            yield from _values(thing)
        elif isinstance(thing, int | float) and not isinstance(thing, bool):
            yield int(thing)
        elif isinstance(thing, str):
            yield from (int(n) for n in re.findall(r"\d+", thing))
