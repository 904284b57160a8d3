"""How a sample weld came out in a stretch of words, from rules/words/<language>/samples.yaml.

A word of the verdict outweighs a defect, a defect outweighs how it looks; what is denied counts the other way.
Which sample, on which iron and by whom is told in samples.py.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from sitebot.understand.facts import words
from sitebot.understand.facts.defects import defect_spans, first_defect


@dataclass(frozen=True, slots=True)
class Said:
    """A phrase that speaks of the outcome."""

    start: int
    end: int
    key: str
    #: For (1), against (-1) or nothing (0), denials counted in.
    weight: int


_STRONG = {"pass", "fail"}
#: After these a word tells nothing: "la pega" is the thing, "la abrio" what somebody did to look.
_NAMED = {"holds": "article", "gives_way": "object", "good": "thing", "bad": "thing"}
_WEIGHT = {"pass": 1, "fail": -1, "good": 1, "bad": -1, "holds": 1, "turns_out": 0, "gives_way": -1, "elsewhere": 1}


def outcome(said: str) -> str:
    """pass, fail or nothing."""
    found = _said(said)
    strong = [s.weight for s in found if s.key in _STRONG]
    weak = [s.weight for s in found if s.key not in _STRONG and s.weight]
    if strong:
        return _word(strong[-1])
    defect = first_defect(_calm(said, found))
    if defect and defect != "tensile" and weak[-1:] != [1]:
        return "fail"
    if weak:
        return "" if defect and defect != "tensile" and -1 not in weak else _word(weak[-1])
    return "pass" if defect_spans(said) and not defect else ""


def is_told(said: str) -> bool:
    """Its outcome is told in so many words, not only a defect named."""
    return any(s.weight for s in _said(said))


def _word(weight: int) -> str:
    return "pass" if weight > 0 else "fail"


def _calm(said: str, found: list[Said]) -> str:
    """The words without those that speak for it: "did not open", "tore in the parent", "la abrio" name no defect."""
    for each in reversed([s for s in found if s.weight > 0 or (s.key == "gives_way" and not s.weight)]):
        said = f"{said[: each.start]}good{said[each.end :]}"
    return said


def _said(said: str) -> list[Said]:
    """The phrases in order; where two overlap the longer counts."""
    hits = [
        (m.start() - m.end(), m.start(), m.end(), k)
        for k in _WEIGHT
        for m in words.pattern(f"samples.{k}").finditer(said)
    ]
    kept: list[tuple[int, int, str]] = []
    for _, start, end, key in sorted(hits):
        if not any(s < end and start < e for s, e, _ in kept):
            kept.append((start, end, key))
    kept.sort()
    marked = [s for s, _, key in kept if key != "turns_out"] + [s for s, _, _ in defect_spans(said)]
    return [Said(s, e, key, _weight(said, s, e, key, marked)) for s, e, key in kept]


def _weight(said: str, start: int, end: int, key: str, marked: list[int]) -> int:
    weight = _WEIGHT[key]
    if key in _NAMED and words.ends(f"samples.{_NAMED[key]}", said[:start].rstrip()):
        return 0
    if not _is_denied(said[:start]):
        return weight
    if key == "turns_out":
        # "no quedo porosa": what follows says how it came out.
        return 0 if any(end < at <= end + 1 + len(_leads(said[end:])) for at in marked) else -1
    return -weight


def _leads(tail: str) -> str:
    found = re.match(rf"( {words.any_of('samples.between')})* ?", tail)
    return found.group() if found else ""


@cache
def _denial() -> re.Pattern[str]:
    return re.compile(rf" {words.any_of('samples.denied')}( {words.any_of('samples.between')}){{0,4}} $")


def _is_denied(head: str) -> bool:
    return _denial().search(head) is not None


def is_bare(said: str) -> str:
    """ "la 2 no", "the other one did": only yes or no, beside another sample that tells more."""
    for key, verdict in (("bare_no", "fail"), ("bare_yes", "pass")):
        if words.ends(f"samples.{key}", said.rstrip(" .,;!")):
            return verdict
    return ""


def named_defect(said: str) -> str:
    """What is wrong with it, where something is."""
    return first_defect(_calm(said, _said(said)))
