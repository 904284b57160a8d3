"""What a correction puts in, and for which splices: heat, time, iron, place, profile, kind, people, verdict, number."""

from __future__ import annotations

import re
from typing import Any

from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before, between
from sitebot.understand.facts.corrected import NEW, OLD, PLAIN, WEAK, Value, kind_of, polarity, right
from sitebot.understand.facts.defects import defect_spans
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.numbers_named import Number
from sitebot.understand.marks import Text
from sitebot.understand.people import People, welders

#: Two numbers no larger than this, without a word for a splice's number, are counts.
SMALL = 12
#: More than this nobody counts wrong by one: it may be a splice's number.
MOST_COUNTED = 24
_PLAIN_FIELDS = ("temp_f", "at", "iron", "place", "profile")


def change_of(
    text: Text, context: Context, found: list[Value], numbers: list[Number]
) -> tuple[dict[str, Any], list[int]]:
    """The change and its targets; no change where the text does not say one."""
    swapped = _pair(text, found, numbers)
    if swapped is not None:
        return swapped
    change: dict[str, Any] = {}
    for field in _PLAIN_FIELDS:
        value = right(found, field)
        if value is not None and not _is_aside(value, found) and not _is_cut_short(value, found):
            change[field] = value.value
    _kinds_into(change, text, found, numbers)
    _people_into(change, text, context)
    if "joint" not in change and "joints" not in change:
        _verdict_into(change, text, found)
    _defect_into(change, text)
    return _numbers_into(change, text, numbers, _judged_both(found))


def _pair(text: Text, found: list[Value], numbers: list[Number]) -> tuple[dict[str, Any], list[int]] | None:
    """ "5 not 4", "should read 13, not 31": of two plain numbers one is told as old; nothing else changes."""
    old = {n.value for n in numbers if n.told == OLD}
    good = [n for n in numbers if n.value not in old]
    best = [n for n in good if n.told == max((g.told for g in good), default=OLD)]
    others = [
        v for v in found if v.told != PLAIN and v.field != "verdict" and not (v.field == "joint" and v.told != OLD)
    ]
    if len(old) != 1 or len({n.value for n in best}) != 1 or others or _judged_both(found):
        return None
    wrong, new = next(n for n in numbers if n.told == OLD), best[0]
    if len({n.value for n in good}) > 1 and new.told < WEAK:
        return None
    small = max(new.value, wrong.value) <= SMALL and not words.says("of_number", text.row()[0])
    tagged = wrong.is_splice or new.is_splice or (words.says("renumber_word", text.row()[0]) and not small)
    both = wrong.is_splice and new.is_splice
    if tagged and not (new.is_count or wrong.is_count) and (both or not words.says("last_entry", text.row()[0])):
        return {"number": new.value}, [wrong.value]
    return ({"count": new.value}, []) if max(new.value, wrong.value) <= MOST_COUNTED else ({}, [])


def _judged_both(found: list[Value]) -> bool:
    return len({_SENSE[v.value] for v in found if v.field == "verdict" and v.value in _SENSE}) > 1


def _is_cut_short(value: Value, found: list[Value]) -> bool:
    """ "wall" beside "not wall 10": the number of the new one was not understood."""
    olds = [str(v.value) for v in found if v.field == value.field == "place" and v.told == OLD]
    bare = not re.search(r"\d", str(value.value))
    return bare and any(re.search(r"\d", o) and o.lower().startswith(str(value.value).lower()) for o in olds)


def _is_aside(value: Value, found: list[Value]) -> bool:
    """A value told neither way is no change beside one that is ("at the sump" beside "was a tee")."""
    told = [v for v in found if v.told in (NEW, WEAK, OLD) and v.field != value.field and v.field != "verdict"]
    return value.told == PLAIN and bool(told) and value.field in {"at", "place", "iron"}


def _kinds_into(change: dict[str, Any], text: Text, found: list[Value], numbers: list[Number]) -> None:
    good = [v for v in found if v.field == "joint" and v.told != OLD]
    kinds = [k for k in named_kinds(text) if any(v.end == k.end for v in good)]
    counted = [k for k in kinds if k.count is not None and k.plural]
    if counted and len(kinds) >= 2 and re.search(r" (and|y) (a|un|una|<n>) ", text.row()[0]):
        change["joints"] = {k.kind: k.count or 1 for k in kinds}
        return
    value = right(found, "joint")
    if value is None or (counted and len(kinds) == 1 and any(n.is_count for n in numbers)):
        return
    change["joint"] = kind_of(value, text)


def _people_into(change: dict[str, Any], text: Text, context: Context) -> None:
    row = text.row()[0]
    names = welders(text, context.gazetteer, context.role == "crew")
    people = People(text, context.gazetteer)
    groups = people.groups()
    denied: set[str] = set()
    for at, token in enumerate(text.tokens):
        head = before(text, at)
        if words.begins("only_him", after(text, at + 1)):
            continue
        if (
            people.is_name(at)
            and (
                re.search(r"(not|no|no fui|puse a|says|nt)( a| el| la)?$", head)
                or words.ends("said_wrong", head)
                or words.begins("not_there", after(text, at + 1))
            )
        ) or (
            token.word in {"me", "yo", "i"}
            and re.search(r"(not|no|no fui|wasnt|was not|nt|no (lo|la|los|las) \w+)$", head)
        ):
            denied.add(people.shown(at).lower())
    left = [n for g in groups for n in g if n.lower() not in denied]
    if not left and groups:
        return
    if not left:
        left = [n for n in names if n.lower() not in denied]
    if left and "me" in names and "me" not in denied and "me" not in left:
        left = [*left, "me"]
    if left and (left != ["me"] or denied or re.search(r" (by myself|fui yo) ", row)):
        beside = ["me"] if words.says("with_me", row) and "me" not in denied else []
        change["welders"] = list({n.lower(): n for n in reversed([*beside, *left])}.values())[::-1]


_SENSE = {"accept": "accept", "fine": "accept", "reject": "reject", "poor": "reject"}


def _of_a_fact(text: Text, value: Value) -> bool:
    """ "la hora del 207 está mala": the entry is wrong, not the splice bad."""
    return value.value in {"poor", "reject"} and words.says(
        "a_fact", between(text, max(0, value.start - 6), value.start)
    )


def _verdict_into(change: dict[str, Any], text: Text, found: list[Value]) -> None:
    """The verdict told as right; the word for it must be strong, or the text must speak of a verdict."""
    row = text.row()[0]
    if words.says("verdict_stays", row):
        return
    said = [v for v in found if v.field == "verdict" and not _of_a_fact(text, v)]
    strong = [v for v in said if v.value in {"accept", "reject"}]
    good = [v for v in strong if v.told != OLD]
    if (change and not words.says("of_verdict", row)) or (_judged_both(found) and len(text.of("n")) > 1):
        return
    if strong and not good:
        change["verdict"] = "reject" if strong[-1].value == "accept" else "accept"
        return
    if not good and not (strong or words.says("of_verdict", row) or any(v.told == NEW for v in said)):
        return
    good = good or [v for v in said if v.told != OLD]
    if good:
        best = max(v.told for v in good)
        change["verdict"] = _SENSE[[v for v in good if v.told == best][-1].value]


def _defect_into(change: dict[str, Any], text: Text) -> None:
    """The defect told as right: "no es porosidad sino quemado"."""
    row, places = text.row()
    told = [(polarity(text, places[s], places[e - 1] + 1), key) for s, e, key in defect_spans(row)]
    against = len({key for _, key in told}) > 1 and any(how == OLD for how, _ in told)
    if set(change) & {"temp_f", "iron", "place"} or not (against or words.says("of_defect", row)):
        return
    good = [(how, key) for how, key in told if how != OLD]
    if good:
        change.pop("verdict", None)
        change["defect"] = max(good, key=lambda g: g[0])[1]


def _numbers_into(
    change: dict[str, Any], text: Text, numbers: list[Number], judged_both: bool
) -> tuple[dict[str, Any], list[int]]:
    """Targets, a new number, or a new count, from the numbers left."""
    row = text.row()[0]
    last = words.says("last_entry", row)
    splices = [n for n in numbers if n.is_splice and not last]
    if change and len(splices) > 1 and words.says("slip", between(text, splices[0].start + 1, splices[-1].start)):
        return {}, []
    wrong, good = ({n.value for n in splices if (n.told == OLD) is is_old} for is_old in (True, False))
    if change and len(wrong) == len(good) == 1 and min(wrong | good) > SMALL and not judged_both:
        return {"number": good.pop(), **change}, [wrong.pop()]
    if judged_both and not change:
        return {}, []
    if change:
        targets = [n.value for n in splices if n.told != OLD or len(splices) == 1]
        bare = [n.value for n in numbers if n.is_bare and n.told in (PLAIN, WEAK)] if not last else []
        return change, list(dict.fromkeys(targets or bare))
    loose = [n for n in numbers if not n.is_count]
    if len({n.value for n in loose}) >= 2 and not last and (splices or words.says("renumber_word", row)):
        pair = _new_and_old(loose) if len({n.row for n in loose}) > 1 else None
        if pair:
            return {"number": pair[0]}, [pair[1]]
        return {}, [n.value for n in splices]
    if len(loose) == 1 and last and words.says("number_of_it", row):
        return {"number": loose[0].value}, []
    count = _count(numbers, splices)
    return ({"count": count}, []) if count is not None else ({}, [n.value for n in splices])


def _new_and_old(loose: list[Number]) -> tuple[int, int] | None:
    """Of two numbers the right one and the wrong one."""
    both = list({n.value: n for n in loose}.values())
    old = [n for n in both if n.told == OLD]
    if len(both) != 2:
        old = old[:1]
        new = [n for n in both if n.told == NEW]
        return (new[0].value, old[0].value) if old and new else None
    first, second = both
    if old:
        wrong = old[0]
        return (next(n.value for n in both if n is not wrong), wrong.value) if len(old) == 1 else None
    if first.told >= NEW > second.told:
        return first.value, second.value
    return second.value, first.value


def _count(numbers: list[Number], splices: list[Number]) -> int | None:
    good = [n for n in numbers if n.told != OLD and n not in splices and n.value <= 60]
    if not good:
        return None
    best = max(n.told for n in good)
    told = [n for n in good if n.told == best]
    return told[-1].value if len({n.value for n in told}) == 1 or best >= WEAK else None
