"""Corrections of the record: which splice, and what changes or that it is void."""

from __future__ import annotations

import re
from collections.abc import Iterator

from sitebot.acts import Act
from sitebot.understand.clauses import clauses, part
from sitebot.understand.context import Context, Gazetteer
from sitebot.understand.facts import words
from sitebot.understand.facts.around import before
from sitebot.understand.facts.changes import change_of
from sitebot.understand.facts.corrected import OLD, Value, values
from sitebot.understand.facts.kinds import Named, named_kinds
from sitebot.understand.facts.numbers_named import Number, numbers_named
from sitebot.understand.marks import Text
from sitebot.understand.people import People


def amend(text: Text, context: Context) -> list[Act]:
    """Corrections, one act for each splice that changes."""
    gone = _void(text)
    unnamed = gone == [] and text.of("n", "range") and not words.says("last_entry", text.row()[0])
    if unnamed or _takes_person(text):
        return [Act("amend", {"target": "last", "change": {}})]
    if gone is not None:
        return [Act("amend", {"target": t, "void": True}) for t in _or_last(gone)] + _beside(text, context, gone)
    swaps = _per_number(text)
    if swaps:
        return swaps
    found = values(text)
    numbers = numbers_named(text, found)
    change, targets = change_of(text, context, found, numbers)
    return [Act("amend", {"target": t, "change": change}) for t in _or_last(targets)]


def _beside(text: Text, context: Context, gone: list[int]) -> list[Act]:
    """ "... y la 89 era en cruz, no en T": what is set right behind the clause of the entry taken away."""
    named = [n.start for n in _tagged(text) if n.value in gone]
    ends = [e for s, e in clauses(text) if any(s <= at < e for at in named)]
    if not ends or ends[-1] >= len(text.tokens):
        return []
    rest = part(text, ends[-1], len(text.tokens))
    found = values(rest)
    if _void(rest) is not None or not any(v.told == OLD for v in found):
        return []
    change, targets = change_of(rest, context, found, numbers_named(rest, found))
    return [Act("amend", {"target": t, "change": change}) for t in targets if change and t not in gone]


def _or_last(targets: list[int]) -> list[int | str]:
    return [*targets] or ["last"]


def _void(text: Text) -> list[int] | None:
    """The splices an entry of which is taken away; none where nothing is."""
    row, places = text.row()
    verbs = [m for m in words.pattern("takes_away").finditer(row) if _takes_entry(row, m)]
    if not verbs and not words.says("never_was", row):
        return None
    twin = _twins(text)
    if (before_it := _pointed_at(text, verbs)) is not None:
        return before_it
    for verb in verbs:
        behind = [
            n
            for n in _tagged(text)
            if not text.word(n.start - 1).startswith("last")
            and 0 <= n.start - places[verb.end() - 1] <= 5
            and n.value not in twin
        ]
        if behind:
            near = [n for n in behind if n.row == behind[0].row]
            return [n.value for n in near]
    last = words.says("last_entry", row)
    named = [n.value for n in _tagged(text) if n.value not in twin and (n.is_splice or not last)]
    return list(dict.fromkeys(named))


def _pointed_at(text: Text, verbs: list[re.Match[str]]) -> list[int] | None:
    """ "la 88 borrala, y la 89 era en cruz": the splices that the verb points back at; None where it does not."""
    row, places = text.row()
    named = [n for n in _tagged(text) if n.value not in _twins(text)]
    if words.says("last_entry", row):
        return None
    for verb in verbs:
        at = places[verb.start()]
        tail = row[verb.end() :].strip()
        if not (words.ends("points_back", verb.group()) or words.begins("points_back", tail)):
            continue
        high = next((e for s, e in clauses(text) if s <= at < e), at)
        ahead = [n for n in named if n.start < at]
        if ahead and not any(at < n.start < high for n in named):
            return [n.value for n in ahead if n.row == ahead[-1].row]
    return None


def _takes_entry(row: str, verb: re.Match[str]) -> bool:
    """The object of the verb is an entry, not a fact of one ("scratch the iron for 26")."""
    said = row[verb.end() :].split()[:4]
    if words.ends("not_taking", row[: verb.start()].rstrip()):
        return False
    if verb.group() in {"take", "pull"}:
        return bool(re.match(r" (?:\S+ ){0,3}(off|out|away|down)( |$)", row[verb.end() :] + " "))
    if words.begins("put_instead", row[verb.end() :].strip()):
        return False
    return not any(words.is_only("a_fact", f" {w} ") for w in said[:3])


def _takes_person(text: Text) -> bool:
    """ "remove Hank from 31": somebody is taken off the entry, not the entry away; who stays is not said."""
    row, places = text.row()
    people = People(text, Gazetteer())
    return any(people.is_name(places[m.end()] + 1) for m in words.pattern("takes_away").finditer(row))


def _twins(text: Text) -> set[int]:
    """ "55 is a dup of 54": the number that stays."""
    if len(text.of("n", "range")) < 2:
        return set()
    return {n.value for n in _tagged(text) if words.ends("twin_of", before(text, n.start))}


def _tagged(text: Text) -> list[Number]:
    return [n for n in numbers_named(text, values(text)) if n.is_splice or n.is_bare]


def _per_number(text: Text) -> list[Act]:
    """ "71 was a butt. the tee was 72", "205 is the tee, 206 is the butt": each number its own kind."""
    row = text.row()[0]
    single = [(n.start, n.value) for n in _tagged(text)]
    pairs: dict[int, str] = {}
    for kind in named_kinds(text):
        near = [(abs(s - kind.start), s, n) for s, n in single if abs(s - kind.start) <= 4 and _joined(text, s, kind)]
        if near:
            pairs.setdefault(min(near)[2], kind.kind)
    if len(pairs) < 2 or not re.search(r" (swapped|is|was|were|es|era) ", row):
        return []
    place = text.of("place")
    order = [x for _, x in single]
    acts = [
        Act("amend", {"target": n, "change": {"joint": k}})
        for n, k in sorted(pairs.items(), key=lambda p: order.index(p[0]))
    ]
    if place and acts:
        acts[0].facts["change"]["place"] = place[0].value
    return acts


def _joined(text: Text, at: int, kind: Named) -> bool:
    low, high = min(at, kind.end), max(at, kind.start)
    return any(text.word(i) in {"is", "was", "es", "era"} for i in range(low, high + 1)) and not any(
        text.word(i) in {".", ",", "and", ";", "not"} for i in range(low, high)
    )


def old_numbers(text: Text) -> Iterator[int]:
    """Numbers of a correction that stand for what was wrong, or for the entry put right: they are accounted for."""
    found: list[Value] = values(text)
    for value in found:
        yield from (int(n) for n in re.findall(r"\d+", str(value.value)) if value.told == OLD)
    for number in numbers_named(text, found):
        if number.told == OLD or (number.is_count and words.says("last_entry", text.row()[0])):
            yield number.value
    if (gone := _void(text)) is not None and gone:
        yield from (n.value for n in _tagged(text))
