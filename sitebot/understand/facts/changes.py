# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""What a correction puts in: heat, time, iron, place, profile, kind, people, verdict, number, count.

Which splice is meant is told in amends.py.
"""

from __future__ import annotations

import re
from typing import Any

from sitebot.understand.context import Context
from sitebot.understand.facts.around import before
from sitebot.understand.facts.defects import first_defect
from sitebot.understand.facts.kinds import named_kinds, refine
from sitebot.understand.facts.verdicts import verdict_of
from sitebot.understand.marks import Mark, Text
from sitebot.understand.numbering import rows
from sitebot.understand.people import People, welders

_NOT = r"(no va|no fue|no es|not|no|instead of|wasnt|was not|y no|en vez de|no era|rather than|isnt|is not)"
LAST = re.compile(
    r" (last one|last bunch|the last|that last|ultimo|ultima|ultimos|hace rato|hace ratito|hace un rato|my last|last entry|last 1) "
)
_RENUMBER = re.compile(
    r" (splice|number|numero|called|typed as|is really|transposed|wrong number|malo es|make that|got typed|redone|# <n>|el <n> ,? no el|me baile) "
)


def single_numbers(text: Text) -> list[tuple[int, int, bool]]:
    """(place, number, signed) of the plain numbers."""
    return [(r.start, n, r.signed) for r in rows(text) for n in r.numbers if isinstance(n, int)]


def right_of(text: Text, marks: list[Mark]) -> Mark | None:
    """Of several values the right one: not the one after "not", else the one after "should be", "meant", "fue"."""
    if not marks:
        return None
    good = [
        m
        for m in marks
        if not re.search(
            _NOT + r"( in| on| of| de| la| el| en| a| at| the| a la| era| con la| con)*$", before(text, m.start)
        )
    ]
    wrong = [
        m
        for m in good
        if re.search(
            r"(you|i (put|said|texted|called|typed)|te puse|puse|le dije|typed as|fingered|says|log says|gave you|you have me down for|ya|tell you|dice)( \w+)?( for)?( \w+)?$",
            before(text, m.start),
        )
    ]
    pick = [m for m in good if m not in wrong] or good
    if len(pick) == 1:
        return pick[0]
    for mark in pick:
        if re.search(
            r"(should be|should read|is|was|its|it is|meant|fue|era|es|shoulda been|made|make it|debe decir|shall be|was really)( \w+)?( the)?$",
            before(text, mark.start),
        ):
            return mark
    return pick[0] if pick else marks[0]


def change_of(text: Text, context: Context, targets: list[int]) -> tuple[dict[str, Any], list[int]]:
    row = text.row()[0]
    change: dict[str, Any] = {}
    used: list[int] = []
    _values_into(change, text, row)
    _kind_into(change, text, row)
    _people_into(change, text, context, row)
    verdict = _verdict_change(text, row)
    if verdict and "joint" not in change:
        change["verdict"] = verdict
    if (
        re.search(r" (defect|is not char|le puse poros|poros|lo que tiene|it is porosity) ", row)
        and not {"temp_f", "iron", "place"} & set(change)
        and first_defect(_good_part(row))
    ):
        change.pop("verdict", None)
        change["defect"] = first_defect(_good_part(row))
    if not change:
        _number_change(change, text, targets, used, row)
    return change, used


def _good_part(row: str) -> str:
    return re.sub(r" (is not|not|no|le puse|isnt) \w+ ?", " ", row)


def _values_into(change: dict[str, Any], text: Text, row: str) -> None:
    for kind, key in (("temp", "temp_f"), ("time", "at"), ("iron", "iron"), ("place", "place")):
        mark = right_of(text, text.of(kind))
        if mark is not None:
            change[key] = mark.value
    wide = [m for m in text.of("len") if m.unit in {"in", "mm", "cm"} and float(m.value) >= 3]
    mark = right_of(text, wide)
    if mark is not None or re.search(r" (profile|tape|perfil) ", row):
        found = f"{mark.value:g} {mark.unit}" if mark else ""
        said = re.search(r"(tape|profile|perfil).* (say|says|is|was|es) <n>", row)
        if said and text.of("n"):
            found = f"{text.of('n')[-1].value} in"
        if found:
            change["profile"] = found
    if "iron" not in change and re.search(r" (iron|irons|plancha|wrong iron) ", row):
        _iron_into(change, text, row)
    bare = [
        m
        for m in text.of("n")
        if re.search(r"(temp|temperature|heat|f)( \w+){0,4}$", before(text, m.start))
        and 140 <= (m.value if isinstance(m.value, int) else 0) <= 480
    ]
    if "temp_f" not in change and bare:
        pick = right_of(text, bare)
        if pick:
            change["temp_f"] = pick.value


def _iron_into(change: dict[str, Any], text: Text, row: str) -> None:
    good = re.search(r" (era la|was the|fue la|was|meant|era) (iron |plancha |number )?<n>", row)
    if good:
        marks = [m for m in text.of("n") if m.value is not None]
        right = right_of(text, marks[1:] or marks)
        if right:
            change["iron"] = str(right.value)


def _kind_into(change: dict[str, Any], text: Text, row: str) -> None:
    kinds = named_kinds(text)
    good = [
        k
        for k in kinds
        if not re.search(
            r"(not|no era|wasnt|was not|not an?|no|put|puse|puse como|la puse como|como|no un|no una|that was not)( <n>| a| an| un| una| the)?$",
            before(text, k.start),
        )
    ]
    counted = [k for k in good if k.count is not None and k.plural]
    if len(counted) >= 1 and len(good) >= 2 and re.search(r" (and|y) (a|un|una) ", row):
        change["joints"] = {k.kind: k.count or 1 for k in good}
        return
    pick = next(
        (
            k
            for k in good
            if re.search(
                r"(was|is|be|a|an|the|era|es|fue|make <n> a|va|to a|corners?|edge|as a|were|cruz|to)$",
                before(text, k.start),
            )
        ),
        None,
    ) or (good[0] if good else None)
    if pick is None or (
        pick.count is not None and pick.plural and len(good) == 1 and re.search(r" (its|it is|make it|was) ", row)
    ):
        return
    kind = pick.kind
    if kind == "corner":
        kind = refine(kind, text)
    change["joint"] = kind


def _people_into(change: dict[str, Any], text: Text, context: Context, row: str) -> None:
    names = welders(text, context.gazetteer, context.role == "crew")
    people = People(text, context.gazetteer)
    groups = people.groups()
    denied: set[str] = set()
    for at, token in enumerate(text.tokens):
        if (people.is_name(at) and re.search(r"(not|no|no fui|puse a|says)( a)?$", before(text, at))) or (
            token.word in {"me", "yo", "i"} and re.search(r"(not|no|no fui|wasnt|was not)$", before(text, at))
        ):
            denied.add(people.shown(at).lower())
    left = [n for g in groups for n in g if n.lower() not in denied]
    if not left and groups:
        return
    if not left:
        left = [n for n in names if n.lower() not in denied]
    if left and (left != ["me"] or re.search(r" (by myself|fui yo) ", row)):
        change["welders"] = list(dict.fromkeys(left))


def _verdict_change(text: Text, row: str) -> str:
    if (
        re.search(
            r" (marked|put|change|cambialo|ponlo|its|passed|failed|misread|withdraw|se acepta|no pasa|esta bien|corrijo|equivo\w*|estaba|rejection|verdict|accepted|rejected|aceptado|rechazado|is good|reject) ",
            row,
        )
        is None
    ):
        return ""
    to = re.search(
        r" (to|a|it is|now|ponlo|como|so|that is a|si se) (accepted|rejected|reject|accept|aceptado|rechazado|acepta|good)",
        row,
    )
    if to:
        return "accept" if to.group(2)[0] in "ag" else "reject"
    if re.search(r" (passed|pass\w*|accepted) .*(in error|by mistake)", row):
        return "reject"
    if re.search(
        r" (failed|rejected|rechac\w*|malo) .*(in error|by mistake)|withdraw my rejection|pero no , ese esta bien|no estaba malo",
        row,
    ):
        return "accept"
    if re.search(r" (stays|sigue|verdict stays) ", row) or (
        re.search(r" (iron|temp|profile|butt|tee|wall|weld\w*) ", row)
        and not re.search(r" (accept\w*|reject\w*|acept\w*|rechaz\w*) ", row)
    ):
        return ""
    parts = re.split(r" [.;,] ", row)
    for part in reversed(parts):
        verdict = verdict_of(f" {part.strip()} ")
        if verdict:
            return verdict
    return ""


def _number_change(change: dict[str, Any], text: Text, targets: list[int], used: list[int], row: str) -> None:
    """Counts ("its 5 not 4") and renumbering ("meant 71 not 17")."""
    single = single_numbers(text)
    if (
        len(single) >= 2
        and (
            _RENUMBER.search(row)
            or (targets and len(targets) < len(single) and not re.search(r" (you have me down|butts|tees|made) ", row))
        )
        and not LAST.search(row)
    ):
        new, old = _new_and_old(text, single)
        change["number"] = new
        targets[:] = [old]
        return
    marks = [m for m in text.of("n") if isinstance(m.value, int)]
    right = right_of(text, marks)
    if right is not None and (not targets or (len(marks) > 1 and right.value not in targets)):
        change["count"] = right.value
        targets[:] = []


def _new_and_old(text: Text, single: list[tuple[int, int, bool]]) -> tuple[int, int]:
    """Of two numbers the right one and the wrong one."""
    first, second = single[0][1], single[1][1]
    before_second = before(text, single[1][0])
    before_first = before(text, single[0][0])
    if re.search(r"(not|no|no era|y no|i put)( splice| el| la| #| number)*$", before_second) or re.search(
        r"(should read|malo es|make that)( \w+)?$", before_first
    ):
        return first, second
    if re.search(r"(no|not|no es|no era|puse)( \w+)?$", before_first) and len(single) > 1:
        return second, first
    if re.search(r"(typed as|put down as|down as)$", before_second):
        return first, second
    return second, first
