"""Made and planned splices: how many, which numbers, what kinds, where, with what and by whom."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts.kinds import Named, named_kinds, refine
from sitebot.understand.marks import Mark, Text
from sitebot.understand.numbering import Row, excepted, rows
from sitebot.understand.people import welders

_VAGUE = re.compile(
    r" (few|several|bunch|some|unos cuantos|unas cuantas|varios|varias|un chorro|un monton|a number of|em all|lost track|all of them|them all|los que faltaban|lots|"
    r"<n> (or|o|u) <n>|como unas <n>|no las conte) "
)
#: What counts something else than splices.
_OTHER_NOUN = re.compile(
    r"^(of us|of you|ends?|hands?|guys?|people|persons?|cuts?|hours?|rollos?|rolls?|men|man|legs?|places?|slices?|of the \w+ planned|lados?|cortes?|"
    r"personas?|minutes|min|irons?|planchas?|times|veces|days?|dias|sides?|lugares|thick|wide|deep|spots?|try|tries|boys|lads|locos|de nosotros|rods|trucks|at a time)\b"
)
_LEFT = re.compile(r"^(more )?(left|to go|remaining|to do|pending|planned|still|more to|not|por|pendientes|que faltan|en espera|only|cut but|havent|got cut|nomas cortad\w*|sin|were only|yet|on the bench|paused|no lo|todavia)")
_ELSE = re.compile(r"(out of|of the|de los|de las|top of the|on top of the|faltan|falta|the other|other|otros|otras|los otros|remain|remaining|nos faltan|besides the|not|no|last told you was|were at|was at|had|instead of|team of|crew of|somos|planned|quedan por|paused on|said|told you|to)( <n>| ?)$")
_DIGIT_LIMIT = 12


@dataclass(slots=True)
class Count:
    """What the numbers of a report add up to."""

    numbers: list[int] = field(default_factory=list)
    counts: list[tuple[int, int, str]] = field(default_factory=list)
    #: Numbers that stand alone and may be either.
    vague: bool = False
    clash: bool = False


def _after(text: Text, at: int) -> str:
    row, places = text.row()
    index = next((i for i, p in enumerate(places) if p >= at and row[i - 1] == " "), len(row))
    return row[index:].strip()


def _before(text: Text, at: int) -> str:
    row, places = text.row()
    index = next((i for i, p in enumerate(places) if p >= at and i and row[i - 1] == " "), len(row))
    return row[:index].strip()


def is_other(text: Text, row: Row) -> bool:
    """The number counts people, ends, cuts ..., or splices that are not made."""
    after, before = _after(text, row.end), _before(text, row.start)
    if _OTHER_NOUN.match(after) or _LEFT.match(after):
        return True
    return not row.signed and bool(_ELSE.search(before)) or bool(re.search(r"(paused on|not|except|menos|instead of)$", before))


def count_up(text: Text, context: Context) -> Count:
    """Tell counts from splice numbers and add them up."""
    found = Count(vague=bool(_VAGUE.search(text.row()[0])))
    kinds = named_kinds(text)
    out, _ = excepted(text)
    listed = _listed(kinds, context)
    for row in rows(text):
        numbers = [n for n in row.numbers if isinstance(n, int) and n < 2000]
        if not numbers or set(numbers) <= set(out) or is_other(text, row):
            continue
        kind = next((k for k in kinds if k.count_at == row.end - 1), None)
        if listed and kind and kind in listed:
            found.numbers += numbers
        elif _are_numbers(text, row, kind, context):
            found.numbers += [n for n in numbers if n not in out]
        else:
            found.counts.append((numbers[-1], row.start, kind.kind if kind else ""))
            found.counts += [(n, row.start, "") for n in numbers[:-1]]
    _settle(text, found)
    return found


def _listed(kinds: list[Named], context: Context) -> list[Named]:
    """Kinds in the singular that follow numbers one up from another: "18 butt, 19 butt, 20 tee"."""
    single = [k for k in kinds if k.count is not None and not k.plural]
    steps = [b.count - a.count for a, b in zip(single, single[1:], strict=False) if a.count is not None and b.count is not None]
    if len(single) < 2 or any(s != 1 for s in steps):
        return []
    first = single[0].count or 0
    return single if first > 2 or first == context.highest + 1 and context.highest else []


def _are_numbers(text: Text, row: Row, kind: Named | None, context: Context) -> bool:
    if row.ranged:
        return True
    if len(row.numbers) > 1:
        rising = all(b > a for a, b in zip(row.numbers, row.numbers[1:], strict=False))
        return rising and not (kind and kind.plural and not row.signed and row.numbers[-1] <= 4) and not re.search(r" (or|o|u) ", f" {' '.join(text.word(i) for i in range(row.start, row.end))} ")
    number = row.numbers[0]
    words = {text.word(i) for i in range(row.start, row.end)}
    after = _after(text, row.end)
    if words & {"#", "number", "numero", "num", "no", "nos"}:
        return not (text.word(row.start) == "no" and text.word(row.start + 1) != "." and text.spanish)
    if words & {"los", "las"}:
        return False
    if words & {"splice", "weld", "empalme", "joint", "union", "junta"}:
        return not (kind and kind.plural)
    if words & {"el", "la", "al", "del", "lo"}:
        return not (kind and kind.plural)
    if re.search(r"(call it|calling it|its|it is|thats|that is|es el|es la|number|ahora es)$", _before(text, row.start)) and not kind and number > 2:
        return True
    if kind is not None and (kind.plural or number <= 2):
        return kind is not None and not kind.plural and number == context.highest + 1 and context.highest > 0
    if re.match(r"(more|mas|extra|new|fresh|of|splices|empalmes|joints|welds|uniones|juntas|pegas|soldaduras|total|made|butts|straights|pcs|pieces|ones|additional|down|on <iron>|between|hechos|hechas|in the)\b", after):
        return number > 40 and after.startswith(("in the", "on <iron>", "made"))
    if context.highest:
        return number > 2 and (number >= context.highest or number > _DIGIT_LIMIT)
    return number > _DIGIT_LIMIT or (kind is not None and number > 4)


def _settle(text: Text, found: Count) -> None:
    """Drop a total that only repeats its parts, and see whether counts and numbers agree."""
    values = [c for c, _, _ in found.counts]
    if len(values) >= 2 and values[0] == values[1] and found.counts[1][1] - found.counts[0][1] <= 3 and not found.counts[0][2]:
        found.counts.pop(1)
        values.pop(1)
    if len(values) >= 3 or len(values) == 2 and values[0] == values[1]:
        for i, value in enumerate(values):
            if value == sum(values) - value and i in {0, len(values) - 1} and (len(values) > 2 or not found.counts[i][2]):
                found.counts.pop(i)
                break
    if found.numbers and found.counts:
        total = sum(c for c, _, _ in found.counts)
        if total == len(set(found.numbers)) or any(c == len(set(found.numbers)) for c, _, _ in found.counts):
            found.counts = []
        else:
            found.clash = True


def _from_kinds(text: Text, kinds: list[Named]) -> int | None:
    """The count when no number stands: one in the singular, "both" two, a kind said three times three."""
    row = text.row()[0]
    if not kinds:
        one = re.search(r" (one|uno|una|otro|otra|another|nother|anither|1st one|last one|el que faltaba|la que faltaba|that one) ", row)
        return 1 if one else None
    if re.search(r" (both|ambas|ambos) ", row):
        return 2
    if len(kinds) > 1 and len({k.kind for k in kinds}) == 1 and all(not k.plural for k in kinds) and re.search(r" (\w+) \1 ", row):
        return len(kinds)
    return None if all(k.plural for k in kinds) else len({k.kind for k in kinds if not k.plural}) if len(kinds) > 1 else 1


def splice_facts(text: Text, context: Context) -> dict[str, Any]:
    """Facts of report_splices; count None means that it has to be asked."""
    kinds = named_kinds(text)
    found = count_up(text, context)
    facts: dict[str, Any] = {}
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
        joints: dict[str, int] = {}
        for kind in kinds:
            count = kind.count if kind.count is not None and kind.count not in found.numbers else 1
            joints[kind.kind] = joints.get(kind.kind, 0) + count
        total = facts.get("count")
        if total and sum(joints.values()) != total and facts.get("numbers") is None:
            joints = {k: v for k, v in joints.items() if any(n.kind == k and n.count is not None for n in kinds)} or joints
        facts["joint"], facts["joints"] = ("mixed", joints) if len(joints) > 1 else (next(iter(joints)), joints)


def _rest_into(facts: dict[str, Any], text: Text, context: Context) -> None:
    places = [m for m in text.of("place")]
    if len(places) == 1:
        facts["place"] = places[0].value
    elif places:
        facts["place"] = places[0].value
        shared = _by_place(text, places)
        if len(shared) > 1:
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
    names = welders(text, context.gazetteer)
    if names:
        facts["welders"] = names
    dates = text.of("date")
    if dates:
        facts["date"] = dates[0].value


def _is_profile(mark: Mark) -> bool:
    size = float(mark.value) * {"in": 25.4, "mm": 1, "cm": 10}[mark.unit]
    return 90 <= size <= 500


def _by_place(text: Text, places: list[Mark]) -> dict[str, int]:
    """The count that stands nearest before each place (or after it)."""
    counts = [m for m in text.of("n") if isinstance(m.value, int)]
    out: dict[str, int] = {}
    for i, place in enumerate(places):
        low = places[i - 1].end if i else 0
        high = places[i + 1].start if i + 1 < len(places) else len(text.tokens)
        before = [c for c in counts if low <= c.start < place.start]
        after = [c for c in counts if place.end <= c.start < high]
        near = before[-1] if before else after[0] if after else None
        if near is not None:
            out[str(place.value)] = int(near.value)
    return out


def report_splices(text: Text, context: Context) -> Act:
    """A report of splices made."""
    return Act("report_splices", splice_facts(text, context))


def plan_splices(text: Text, context: Context) -> Act:
    """Splices wanted, planned or supposed."""
    facts = splice_facts(text, context)
    facts.pop("clash", None)
    if facts.get("count") is None:
        values = [m.value for m in text.of("n") if isinstance(m.value, int) and m.value < 200]
        facts["count"] = values[0] if values else None
    when = text.of("date")
    facts["when"] = when[0].value if when else _when(text)
    return Act("plan_splices", {k: v for k, v in facts.items() if v not in (None, "")})


def _when(text: Text) -> str:
    match = re.search(r" (after lunch|first thing|before dark|by lunch|in the morning|tomorrow|if the rain \w+|despues de comer|hoy|luego) ", text.row()[0])
    return match.group(1) if match else ""
