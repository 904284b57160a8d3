# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Made and planned splices: how many, which numbers, what kinds, where, with what and by whom."""

from __future__ import annotations

import itertools
import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.counts import Count, count_up
from sitebot.understand.facts.elsewise import is_elsewise
from sitebot.understand.facts.kinds import Named, named_kinds, refine
from sitebot.understand.facts.named_or_counted import SMALL
from sitebot.understand.marks import Mark, Text
from sitebot.understand.people import welders


def _from_kinds(text: Text, kinds: list[Named]) -> int | None:
    """The count when no number stands: one in the singular, "both" two, a kind said three times three."""
    row = text.row()[0]
    if not kinds:
        one = re.search(
            r" (one|otro anadido|another|nother|anither|1st one|last one|el que faltaba|la que faltaba|that one|primer empalme|uno mas|otro mas) ",
            row,
        )
        return 1 if one or words.says("just_one", row) else None
    if re.search(r" (both|ambas|ambos) ", row):
        return 2
    if (
        len(kinds) > 1
        and len({k.kind for k in kinds}) == 1
        and all(not k.plural for k in kinds)
        and re.search(r" (\w+) \1 ", row)
    ):
        return len(kinds)
    if len(kinds) > 1 and all(not k.plural and k.count is None for k in kinds) and _listed(text, kinds):
        return len(kinds)
    return (
        None if all(k.plural for k in kinds) else len({k.kind for k in kinds if not k.plural}) if len(kinds) > 1 else 1
    )


def _listed(text: Text, kinds: list[Named]) -> bool:
    """ "corner, corner, straight": kinds side by side, one splice each."""
    gaps = [{text.word(i) for i in range(a.end, b.start)} for a, b in itertools.pairwise(kinds)]
    return all(gap and gap <= _BETWEEN for gap in gaps)


#: What stands between the kinds of a list.
_BETWEEN = {",", "\n", "and", "y", "then", "luego", "plus", "mas", "+", "a", "an", "una", "un", "another", "otra", "the", "la", "/", "&"}  # fmt: skip


def splice_facts(text: Text, context: Context) -> dict[str, Any]:
    """Facts of report_splices; count None means that it has to be asked."""
    kinds = [k for k in named_kinds(text) if k.count != 0 and not _denied(text, k)]
    found = count_up(text, context)
    facts: dict[str, Any]
    numbers = sorted(set(found.numbers), key=found.numbers.index)
    if found.clash:
        facts = {"count": sum(c for c, _, _ in found.counts), "numbers": numbers, "clash": True}
    elif numbers:
        facts = {"count": len(numbers), "numbers": numbers}
    elif found.counts and not found.vague:
        facts = {"count": sum(c for c, _, _ in found.counts)}
    elif found.vague:
        facts = {"count": None}
    else:
        facts = {"count": _from_kinds(text, kinds)}
    _kinds_into(facts, text, kinds, found)
    _rest_into(facts, text, context)
    return facts


def _denied(text: Text, kind: Named) -> bool:
    return text.word(kind.start - 1) in {"no", "zero", "cero", "not", "sin"}


def _kinds_into(facts: dict[str, Any], text: Text, kinds: list[Named], found: Count) -> None:
    names = {refine(k.kind, text) if len({n.kind for n in kinds}) == 1 else k.kind for k in kinds}
    if "flat_corner" in names and "corner" in names:
        names.discard("corner")
    if "edge_corner" in names and "corner" in names and "flat_corner" not in names:
        names.discard("corner")
    if len(names) == 1:
        facts["joint"] = names.pop()
    elif not names:
        facts["joint"] = "unknown"
    else:
        joints: dict[str, int] = _dealt(facts, text, kinds)
        for kind in kinds if not joints else ():
            count = kind.count if kind.count is not None and kind.count not in found.numbers else 1
            joints[kind.kind] = joints.get(kind.kind, 0) + count
        total = facts.get("count")
        if total and sum(joints.values()) != total and facts.get("numbers") is None:
            joints = {
                k: v for k, v in joints.items() if any(n.kind == k and n.count is not None for n in kinds)
            } or joints
        facts["joint"], facts["joints"] = ("mixed", joints) if len(joints) > 1 else (next(iter(joints)), joints)


def _dealt(facts: dict[str, Any], text: Text, kinds: list[Named]) -> dict[str, int]:
    """ "8 9 butts 10 tee": each number with its kind, the numbers in the order of the kinds; empty where they are not told."""
    told = [m for m in text.of("n", "range") if set(_whole(m)) <= set(facts.get("numbers") or ())]
    if not told or not kinds:
        return {}
    leads = kinds[0].start < told[0].start
    by_kind: dict[str, list[int]] = {}
    for mark in told:
        near = [k for k in kinds if (k.start < mark.start if leads else k.end > mark.start)]
        if not near:
            return {}
        by_kind.setdefault((near[-1] if leads else near[0]).kind, []).extend(_whole(mark))
    if sorted(n for own in by_kind.values() for n in own) != sorted(facts["numbers"]) or len(by_kind) < len(
        {k.kind for k in kinds}
    ):
        return {}
    facts["numbers"] = [n for own in by_kind.values() for n in own]
    return {kind: len(own) for kind, own in by_kind.items()}


def _whole(mark: Mark) -> list[int]:
    return list(mark.value) if isinstance(mark.value, list) else [mark.value]


def _rest_into(facts: dict[str, Any], text: Text, context: Context) -> None:
    places = list(text.of("place"))
    if len(places) == 1:
        facts["place"] = places[0].value
    elif places:
        facts["place"] = places[0].value
        shared = _by_place(text, places)
        if len(shared) == 1 and sum(shared.values()) == facts.get("count"):
            facts["place"] = next(iter(shared))
        if len(shared) > 1 and sum(shared.values()) == facts.get("count"):
            facts["places"] = shared
    for mark in text.of("iron")[:1]:
        facts["iron"] = mark.value
    heats = [m.value for m in text.of("temp")]
    if heats:
        facts["temp_f"] = heats[0] if len(set(heats)) == 1 else heats
    times = text.of("time")
    if times:
        facts["at"] = times[0].value
    wide = [m for m in text.of("len") if m.unit in {"in", "mm", "cm"} and _is_profile(m)]
    if wide:
        facts["profile"] = f"{wide[0].value:g} {wide[0].unit}"
    names = welders(text, context.gazetteer, context.role == "crew")
    if names:
        facts["welders"] = names
    dates = text.of("date")
    if dates:
        facts["date"] = dates[0].value


def _is_profile(mark: Mark) -> bool:
    size = float(mark.value) * {"in": 25.4, "mm": 1, "cm": 10}[mark.unit]
    return 90 <= size <= 500


def _by_place(text: Text, places: list[Mark]) -> dict[str, int]:
    """What was made at each place: the counts after it where the places lead ("pier 1: 2"), else those before it."""
    counts = [m for m in text.of("n") if isinstance(m.value, int) and not is_elsewise(text, m)]
    leads = bool(counts) and places[0].start < counts[0].start
    out: dict[str, int] = {}
    for i, place in enumerate(places):
        low = place.end if leads else places[i - 1].end if i else 0
        high = (places[i + 1].start if i + 1 < len(places) else len(text.tokens)) if leads else place.start
        near = [int(m.value) for m in counts if low <= m.start < high]
        if near:
            out[str(place.value)] = out.get(str(place.value), 0) + sum(near)
    return out


def report_splices(text: Text, context: Context) -> Act:
    """A report of splices made."""
    return Act("report_splices", splice_facts(text, context))


def plan_splices(text: Text, context: Context) -> Act:
    """Splices wanted, planned or supposed."""
    facts = splice_facts(text, context)
    facts.pop("clash", None)
    if wanted := _wanted(text):
        facts["count"] = wanted
    if facts.get("count") is None:
        values = [m.value for m in text.of("n") if isinstance(m.value, int) and m.value < 200]
        facts["count"] = values[0] if values else None
    when = text.of("date")
    facts["when"] = when[0].value if when else _when(text)
    return Act("plan_splices", {k: v for k, v in facts.items() if v not in (None, "")})


def _wanted(text: Text) -> int:
    """How many splices of the kinds named are wanted, one for each that stands with an article; 0 where none is counted."""
    kinds = [k for k in named_kinds(text) if k.count != 0]
    counted = [k.count for k in kinds if k.count is not None and k.count <= SMALL]
    single = [
        k for k in kinds if k.count is None and text.word(k.start - 1) in {"a", "an", "un", "una", "otra", "otro"}
    ]
    return sum(counted) + len(single) if counted else 0


def _when(text: Text) -> str:
    match = re.search(
        r" (after lunch|first thing|before dark|by lunch|in the morning|tomorrow|if the rain \w+|despues de comer|hoy|luego) ",
        text.row()[0],
    )
    return match.group(1) if match else ""
