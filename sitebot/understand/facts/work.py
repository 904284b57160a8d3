# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Rework and damage: what the crew reports of splices already made."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.clauses import clauses, part
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import before
from sitebot.understand.facts.elsewise import counts_else
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.renewed import renewed
from sitebot.understand.facts.unmade import PAST
from sitebot.understand.facts.verdicts import verdict_of
from sitebot.understand.marks import Text
from sitebot.understand.people import welders
from sitebot.understand.spelling import fold


def report_rework(text: Text, context: Context) -> list[Act]:
    """Rejected splices cut out and made again, or not yet; sentences that differ are two acts."""
    old, new = renewed(text)
    if new and is_redone(text):
        told: dict[str, Any] = {"done": True} | ({"numbers": old} if old else {}) | {"new_numbers": new}
        add_common(told, text, context)
        return [Act("report_rework", told)]
    if split := _by_stretch(text, context):
        return split
    numbers = named_splices(text)
    facts: dict[str, Any] = {"done": is_redone(text)}
    if re.search(r" only <n> is left ", text.row()[0]) and len(numbers) > 1:
        return [_act(numbers[1:], True), _act(numbers[:1], False)]
    if numbers:
        facts["numbers"] = numbers
    add_common(facts, text, context)
    return [Act("report_rework", facts)]


def _act(numbers: list[int], done: bool) -> Act:
    return Act("report_rework", {"numbers": numbers, "done": done})


def _by_stretch(text: Text, context: Context) -> list[Act]:
    """ "Will redo 44 after lunch. 45 did get made", "4 done, 7 open": one act for each state; nothing where all agree.

    A clause without a number goes with the one before; a number without a state has that of the one before, or the next.
    """
    told: list[tuple[list[int], bool | None]] = []
    aside = False
    for start, end in clauses(text):
        own = part(text, start, end)
        numbers, state = named_splices(own), _state(own)
        if numbers and state is not True and is_relayed(own, context) and verdict_of(own.row()[0]):
            aside = True
        elif numbers:
            told.append((numbers, state))
        elif told and state is not None:
            told[-1] = (told[-1][0], state if told[-1][1] in (None, state) else False)
    states = _carried([state for _, state in told])
    if len(set(states)) < 2 and not (aside and states):
        return []
    return [
        _act([n for (own, _), said in zip(told, states, strict=True) if said is done for n in own], done)
        for done in dict.fromkeys(states)
    ]


def _state(text: Text) -> bool | None:
    """Redone, still open, or not said; both together are as good as not said."""
    row = text.row()[0]
    later = _is_later(text) or words.says("still_open", row)
    again = words.says("redone", row) or words.says("made_again", row)
    return again if later != again else None


def _carried(states: list[bool | None]) -> list[bool]:
    out: list[bool] = []
    for at, state in enumerate(states):
        following = next((s for s in states[at:] if s is not None), True)
        out.append(state if state is not None else out[-1] if out else following)
    return out


def _is_later(text: Text) -> bool:
    """A day that is not over: told with it alone, a redo is to come."""
    return any(not fold(m.raw).startswith(PAST) for m in text.of("date"))


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
