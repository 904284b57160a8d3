# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Corrections of the record: which splice, and what changes or that it is void."""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts.around import after, before
from sitebot.understand.facts.changes import LAST, change_of, right_of, single_numbers
from sitebot.understand.facts.kinds import Named, named_kinds
from sitebot.understand.marks import Text
from sitebot.understand.numbering import rows

_VOID = re.compile(
    r" (void|scratch|delete|remove|bin|undo|ignore|cancel|take .{0,14}back off|erase|never (made|welded|happened|joined|got)|dup|duplicate|twice|borra\w*|anula\w*|quita\w*|elimin\w*|tumbame|nunca se hizo|no se hizo|doble|dos veces|repetido|never mind|strike|drop|wipe|repeat\w*) "
)


def amend_acts(text: Text, context: Context) -> list[Act]:
    """Corrections, one act for each splice that changes."""
    targets = _targets(text)
    if _is_void(text):
        return [Act("amend", {"target": t, "void": True}) for t in _or_last(targets)]
    counted = None if targets else _recount(text)
    if counted is not None:
        return [Act("amend", {"target": "last", "change": {"count": counted}})]
    swaps = _per_number(text)
    if swaps:
        return swaps
    change, _used = change_of(text, context, targets)
    numbers = [t for t in targets if str(t) != change.get("iron") or len(targets) == 1]
    if LAST.search(text.row()[0]) and not single_numbers(text):
        numbers = []
    return [Act("amend", {"target": t, "change": change}) for t in _or_last(numbers)]


def _or_last(targets: list[int]) -> list[int | str]:
    return [*targets] or ["last"]


def _recount(text: Text) -> int | None:
    """ "5 not 4 on wall 7", "you two, make it three": a count is put right, whatever place is named."""
    row = text.row()[0]
    if not re.search(
        r"<n> (butts |tees |splices |corners )?,? ?(not|no|instead of|y no|its|it is|make it|pero|and we only made|no ,) (la |<n>|only|make)|make it <n>|only made <n>|contando bien|fueron <n>|eran <n>",
        row,
    ) or text.has("iron_noun"):
        return None
    right = right_of(text, [m for m in text.of("n") if isinstance(m.value, int)])
    return int(right.value) if right is not None and right.value <= 60 else None


def _is_void(text: Text) -> bool:
    row = text.row()[0]
    if not _VOID.search(row):
        return False
    kept = re.search(r" (profile|iron|temp|verdict|number|the iron|plancha|rechazado sigue) ", row)
    return not (
        re.search(r" (scratch|borra) the (iron|temp|place) ", row)
        or (kept and not re.search(r" (void|delete|borra\w*|anula\w*|quita\w*) ", row))
    )


_SUBJECT = re.compile(
    r"^(was|is|were|are|has|had|got|should|shall|fue|fueron|era|va|van|no era|no va|no fue|es|al final|lo|la|le|went|son|esta|profile|falto|entry|y|says|tiene|pongale|been|take|list|=|on it|with|never|quita\w*|and <n> (are|were))\b|^(=|$|\.|,|-|:)"
)
_OBJECT = re.compile(
    r"(temp on|time on|profile on|defect on|temp del|entry for|iron for|put \w+ on|on|for|splice|void|scratch|delete|bin|remove|make|change|amend|rejection of|failed|passed|misread|take|dictamen del|plancha del|"
    r"correct|fix|quita|borra|anula|corrige|borrame|tumbame|called|called it|did|made|welded|con el|cambia\w*|sorry|perdon|oops|in|en|with|to)( splice| number| #| el| la| al| del)*$"
)
#: A number after these is a count or a new value, never the splice.
_VALUE = re.compile(
    r"\b(make it|its|it is|it was|instead of|not|no|eran|fueron|son|salen|only made|i said|i meant|meant|you two|told you|me down for|gave you|there were|was|were|puse|than|to|only|era|es|digo|and|said|counting|you|is really|malo es|make that|numero|read|typed as)( splice| number| #| el| la| iron| plancha| a)*$"
)
_THINGS = re.compile(
    r"^(butts?|tees?|corners?|topes?|rectos?|more|splices|empalmes|crosses|people|of|veces|times|mensajes|messages|pulgadas|de hace|de cisterna|de los)\b"
)


def _targets(text: Text) -> list[int]:
    """Splices the correction speaks of: the number it says something about, not the numbers it puts in."""
    found: list[int] = []
    for r in rows(text):
        numbers = [n for n in r.numbers if isinstance(n, int)]
        head, tail = before(text, r.first), after(text, r.end)
        signs = {text.word(i) for i in range(r.start, r.end)}
        if (_THINGS.match(tail) and not signs & {"#", "splice", "number"}) or signs & {"los", "las"}:
            continue
        value = bool(_VALUE.search(before(text, r.start)) or _VALUE.search(head))
        strong = bool(signs & {"#", "splice", "empalme"}) and not re.search(
            r"(meant|not|no)( \w+)?$", before(text, r.start)
        )
        article = bool(signs & {"el", "la", "al", "del", "lo"}) and not value
        subject = (
            bool(_SUBJECT.match(tail))
            and not value
            and (
                r.first <= 3
                or bool(_OBJECT.search(head))
                or text.word(r.start - 1) in {".", ",", "and", "y", ";", ":", "the"}
            )
        )
        if strong or article or subject or (_OBJECT.search(head) and not value):
            found += numbers
    return list(dict.fromkeys(found))


def _per_number(text: Text) -> list[Act]:
    """ "71 was a butt. the tee was 72", "205 is the tee, 206 is the butt": each number its own kind."""
    row = text.row()[0]
    kinds = named_kinds(text)
    single = [(s, n) for s, n, _ in single_numbers(text)]
    pairs: dict[int, str] = {}
    for kind in kinds:
        near = [(abs(s - kind.start), s, n) for s, n in single if abs(s - kind.start) <= 4 and _joined(text, s, kind)]
        if near:
            pairs.setdefault(min(near)[2], kind.kind)
    if len(pairs) < 2 or not re.search(r" (swapped|is|was|were|es|era) ", row):
        return []
    place = text.of("place")
    acts = [
        Act("amend", {"target": n, "change": {"joint": k}})
        for n, k in sorted(pairs.items(), key=lambda p: [x for _, x in single].index(p[0]))
    ]
    if place and acts:
        acts[0].facts["change"]["place"] = place[0].value
    return acts


def _joined(text: Text, at: int, kind: Named) -> bool:
    low, high = min(at, kind.end), max(at, kind.start)
    return any(text.word(i) in {"is", "was", "es", "era"} for i in range(low, high + 1)) and not any(
        text.word(i) in {".", ",", "and", ";", "not"} for i in range(low, high)
    )


def amend(text: Text, context: Context) -> list[Act]:
    """Corrections of the record."""
    return amend_acts(text, context)
