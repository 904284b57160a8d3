"""The verdict of a stretch of words: accept, reject, or none."""

from __future__ import annotations

from sitebot.understand import lexicon
from sitebot.understand.facts.defects import all_denied, first_defect

_KEYS = ("hold", "idle", "reject", "accept", "poor", "fine", "not")


def weighed(words: str) -> list[tuple[int, str]]:
    """The words of a verdict in order; where two overlap the longer counts."""
    hits = [
        (m.start() - m.end(), rank, m.start(), m.end(), key)
        for rank, key in enumerate(_KEYS)
        for each in lexicon.each_pattern(f"verdict.{key}")
        for m in each.finditer(words)
    ]
    found: list[tuple[int, str]] = []
    taken: list[tuple[int, int]] = []
    for _, _, start, end, key in sorted(hits):
        if not any(s < end and start < e for s, e in taken):
            taken.append((start, end))
            found.append((start, key))
    return sorted(found)


def verdict_of(words: str) -> str:
    """accept, reject or nothing: the last strong word says it, else a defect, else the weak words."""
    found = weighed(words)
    strong = [key for _, key in found if key in {"reject", "accept"}]
    if strong:
        return strong[-1]
    weak = [key for _, key in found if key in {"fine", "poor"}] or [
        {"not": "poor"}[key] for _, key in found if key == "not"
    ]
    if first_defect(words) and "fine" not in weak[-1:]:
        return "reject"
    if weak:
        return "accept" if weak[-1] == "fine" else "reject" if "fine" not in weak else ""
    if all_denied(words):
        return "accept"
    return ""


def is_held(words: str) -> bool:
    """Said not to be judged."""
    keys = {key for _, key in weighed(words)}
    return ("hold" in keys and not {"reject", "accept"} & keys) or (keys == {"idle"} and not all_denied(words))
