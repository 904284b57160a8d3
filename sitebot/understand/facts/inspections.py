# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Verdicts: which splices, accepted or rejected, for what, and whether somebody else gave them.

Each verdict of a text is one act. Whose word counts is for respond/ to say.
"""

from __future__ import annotations

import itertools
import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.clauses import sentences
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import between
from sitebot.understand.facts.defects import defect_facts, first_defect
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.kinds import Named, named_kinds, refine
from sitebot.understand.facts.rows import Row, excepted
from sitebot.understand.facts.verdict_groups import Group, finish
from sitebot.understand.facts.verdicts import is_held, told, verdict_of
from sitebot.understand.marks import Text

_LAST = re.compile(
    r" (just (made|did|finished)|acaba\w* de (hacer|soldar|pegar|terminar)|recien hech[oa]|last one|the last|last weld|el ultimo|la ultima|ultimo que hicieron|that one|this one|ese ultimo|it is good|last|it|that|ese|esa|good now|bad one|good one) "
)
_REST = re.compile(
    r" (resto|demas|otros|otras|los otros|las otras|los otros <n>|las otras <n>|el resto|everything else|all the rest|the rest|rest|las demas|los demas|lo demas|el resto|the others|others|everything|todo lo demas) "
)


_SEPARATES = {",", "and", "but", "y", "pero", ":", "-", "ni", "nor"}


def report_inspection(text: Text, context: Context) -> list[Act]:
    """All verdicts of a text, the first said first."""
    out, out_at = excepted(text)
    relayed = is_relayed(text, context)
    groups = _groups(text, out, out_at)
    verdicts = [_facts(text, g, relayed, out) for g in groups if not g.held]
    refused = {f["defect"] for f in verdicts if f["verdict"] == "reject" and f.get("defect")}
    return [Act("report_inspection", _unblemished(f) if f.get("defect") in refused else f) for f in verdicts]


def _unblemished(facts: dict[str, Any]) -> dict[str, Any]:
    """ "3 has a void, the rest are fine": the void is no finding on what is accepted."""
    found = {"defect", "value", "unit"} if facts["verdict"] == "accept" else set()
    return {k: v for k, v in facts.items() if k not in found}


def set_aside(text: Text) -> list[int]:
    """Numbers said not to be judged yet."""
    out, out_at = excepted(text)
    return [n for g in _groups(text, out, out_at) if g.held for n in g.numbers]


def _groups(text: Text, out: list[int], out_at: int) -> list[Group]:
    found: list[Group] = []
    for start, end in sentences(text):
        inside = [r for r in splice_rows(text) if start <= r.start < end]
        if not inside:
            _bare_sentence(text, start, end, found)
        else:
            _rows_of(text, start, end, inside, found, out, out_at)
    finish(text, found, out)
    return found


def _rows_of(
    text: Text, start: int, end: int, inside: list[Row], found: list[Group], out: list[int], out_at: int
) -> None:
    cuts = [
        start,
        *(_cut(text, between(text, start, inside[0].start), a, b) for a, b in itertools.pairwise(inside)),
        end,
    ]
    for row, low, high in zip(inside, cuts, cuts[1:], strict=False):
        numbers = list(row.numbers)
        said = _before_rest(between(text, low, high))
        if text.word(row.start - 2) == "out" and text.word(row.start - 1) == "of":
            found.append(Group(numbers, "", low, row.end, held=True, pool=True))
            continue
        if out and set(numbers) <= set(out):
            _without(text, row, (low, high), found, out_at)
            continue
        held = is_held(said) or _is_later(text, row.end, high, said)
        found.append(Group([n for n in numbers if n not in out], verdict_of(said), low, high, held=held))
        if rest := _rest(text, row.end, high):
            found.append(rest)


def _is_later(text: Text, start: int, end: int, said: str) -> bool:
    """ "57 I do tomorrow": a day to come, and no verdict."""
    days = [m for m in text.of("date") if start <= m.start < end and words.says("later_day", f" {m.raw.lower()} ")]
    return bool(days) and not verdict_of(said)


def _without(text: Text, row: Row, span: tuple[int, int], found: list[Group], out_at: int) -> None:
    """ "all good but 5", "all but 12 pass": the verdict of the others, and what is said of the one left out."""
    low, high = span
    tail = between(text, row.end, high)
    verdict = "reject" if first_defect(tail) or verdict_of(tail) == "reject" else ""
    said = verdict_of(between(text, low, max(out_at, low))) or verdict_of(re.split(r" [,;:] ", tail)[0] + " ")
    head = Group([], "" if verdict and said == "reject" else said, low, max(out_at, low), wide=True)
    if head.verdict and not any(g.numbers for g in found):
        found.append(head)
    elif head.verdict and not found[-1].verdict:
        found[-1].verdict, found[-1].held = head.verdict, False
    elif not verdict and verdict_of(tail) == "accept" and found and not found[-1].verdict:
        found[-1].verdict, found[-1].held = "accept", False
    found.append(Group(list(row.numbers), verdict, row.start, high, held=not verdict))


def _before_rest(said: str) -> str:
    """The words up to "everything else"; all of them where it leads."""
    match = _REST.search(said)
    return f"{said[: match.start()]} " if match and match.start() > 3 else said


def _rest(text: Text, start: int, end: int) -> Group | None:
    """ "... 24 for char, everything else on the weir she accepted" in one sentence."""
    said = between(text, start, end)
    match = _REST.search(said)
    if not match:
        return None
    verdict = verdict_of(said[match.start() :])
    return Group([], verdict, start, end, wide=True) if verdict else None


def _cut(text: Text, head: str, left: Row, right: Row) -> int:
    """Where the words of one row end and those of the next begin: after a verdict that follows, before one that leads."""
    gap = between(text, left.end, right.start)
    leads = bool([k for _, k in told(head) if k in {"reject", "accept", "fine"}])
    rest = _REST.search(gap)
    if rest and told(gap[rest.start() :]) == []:
        return left.end + len(gap[: rest.start()].split())
    seps = [i for i in range(left.end, right.start) if text.word(i) in _SEPARATES]
    if leads and told(gap) and seps:
        return seps[0]
    if leads and told(gap):
        return left.end + len(gap[: told(gap)[0][0]].split())
    return seps[-1] + (text.word(seps[-1]) in {",", ":", "-"}) if seps else right.start


def _bare_sentence(text: Text, start: int, end: int, found: list[Group]) -> None:
    """A sentence without numbers: of all the rest, or of what was just named."""
    said = between(text, start, end)
    verdict = verdict_of(said)
    places = [m for m in text.of("place") if start <= m.start < end]
    if _REST.search(said) and verdict and (found or places):
        found.append(Group([], verdict, start, end, wide=True))
    elif found and not found[-1].wide and not (re.match(r" (the )?others ", said) and verdict):
        found[-1].more.append((start, end))
        strong = [k for _, k in told(said) if k in {"reject", "accept"}]
        if strong or (not found[-1].verdict and verdict):
            found[-1].verdict = verdict
            found[-1].held = False
    elif verdict or not found:
        found.append(Group([], verdict, start, end))


def _facts(text: Text, group: Group, relayed: bool, out: list[int]) -> dict[str, Any]:
    facts: dict[str, Any] = {"verdict": group.verdict}
    if group.numbers:
        facts["numbers"] = group.numbers
    places = text.of("place")
    place = next((m for m in places if group.start <= m.start < group.end), None) or (places[0] if places else None)
    if place:
        facts["place"] = place.value
    if not group.numbers:
        _wide(facts, text, group)
    facts |= _cause(text, group)
    if not group.numbers and group.verdict == "accept":
        others = [n for r in splice_rows(text) for n in r.numbers] if group.wide else out
        if out or others:
            facts["except"] = sorted(set(out) | set(others))
    if relayed:
        facts["relayed"] = True
    return facts


def _cause(text: Text, group: Group) -> dict[str, Any]:
    for start, end in [(group.start, group.end), *group.more]:
        found = defect_facts(text, start, end)
        if found and (group.verdict == "reject" or "value" in found):
            return found
    return {}


def _is_meant(text: Text, kind: Named) -> bool:
    """ "the tee on wall 3 passes": the splice of that kind; "it sits in the corner" says where."""
    lead = {text.word(kind.start - 1), text.word(kind.start - 2)}
    return bool(lead & {"the", "el", "la", "that", "los", "las"}) and not lead & {"en", "in", "at"}


def _wide(facts: dict[str, Any], text: Text, group: Group) -> None:
    """A verdict without numbers: on a place, the last one, or all of a day."""
    row = text.row()[0]
    kinds = named_kinds(text)
    days = {day for day in ("today", "yesterday") if words.says(day, f" {' '.join(t.word for t in text.tokens)} ")}
    if facts.get("place"):
        if len(kinds) == 1 and _is_meant(text, kinds[0]):
            facts["joint"] = refine(kinds[0].kind, text)
    elif "yesterday" in days and "today" not in days:
        facts["numbers"] = "yesterday"
    elif "today" in days and not re.search(r" (last one|the last|ultimo) ", row):
        facts["numbers"] = "today"
    elif group.wide and not kinds and text.has("all_of"):
        facts["numbers"] = "today"  # "todo bien menos la 7, esa la veo mañana": of all that waits, and no last one
    elif kinds and not re.search(r" (last one|that one|ultimo) ", row):
        facts["joint"] = refine(kinds[0].kind, text)
    elif _LAST.search(row) or len(text.tokens) <= 4:
        facts["numbers"] = "last"
