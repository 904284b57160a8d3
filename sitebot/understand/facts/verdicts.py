"""The verdict of a stretch of words: accept, reject, or none."""

from __future__ import annotations

from sitebot.understand import lexicon
from sitebot.understand.facts import words
from sitebot.understand.facts.defects import all_denied, first_defect

_KEYS = ("hold", "idle", "reject", "accept", "poor", "fine", "not")


#: The words of short lists ("no ok", "rej"), which the choice of the act does not look at, and what they count as.
_SHORT = {"accepts": "fine", "rejects": "reject", "undecided": "hold"}


def weighed(said: str) -> list[tuple[int, str]]:
    """The words of a verdict in order, as the choice of the act sees them; where two overlap the longer counts."""
    return _longest(_lexical(said))


def told(said: str) -> list[tuple[int, str]]:
    """As ``weighed``, with the words of short lists."""
    short = [
        (m.start() - m.end(), 99, m.start(), m.end(), key)
        for name, key in _SHORT.items()
        for m in words.pattern(name).finditer(said)
    ]
    return _longest(short + _lexical(said))


_Hit = tuple[int, int, int, int, str]


def _lexical(said: str) -> list[_Hit]:
    return [
        (m.start() - m.end(), rank, m.start(), m.end(), key)
        for rank, key in enumerate(_KEYS)
        for each in lexicon.each_pattern(f"verdict.{key}")
        for m in each.finditer(said)
        if key != "not" or _is_verdict(said, m.end())
    ]


def _is_verdict(said: str, end: int) -> bool:
    """Whether a plain "no" is the verdict: "16 no", "no, it opened", "no me gusta"; not "no lo he visto"."""
    tail = said[end:].lstrip()
    return not tail or tail[0] in ".,;:()\n-" or words.begins("no_because", tail)


def _longest(hits: list[_Hit]) -> list[tuple[int, str]]:
    found: list[tuple[int, str]] = []
    taken: list[tuple[int, int]] = []
    for _, _, start, end, key in sorted(hits):
        if not any(s < end and start < e for s, e in taken):
            taken.append((start, end))
            found.append((start, key))
    return sorted(found)


def verdict_of(said: str) -> str:
    """accept, reject or nothing: the last strong word says it, else a defect, else the weak words."""
    found = told(said)
    strong = [key for _, key in found if key in {"reject", "accept"}]
    if strong:
        return strong[-1]
    weak = [key for _, key in found if key in {"fine", "poor"}] or [
        {"not": "poor"}[key] for _, key in found if key == "not"
    ]
    if first_defect(said) and "fine" not in weak[-1:]:
        return "reject"
    if weak:
        return "accept" if weak[-1] == "fine" else "reject" if "fine" not in weak else ""
    if all_denied(said):
        return "accept"
    return ""


def is_held(said: str) -> bool:
    """Said not to be judged."""
    keys = {key for _, key in told(said)}
    return ("hold" in keys and not {"reject", "accept"} & keys) or (keys == {"idle"} and not all_denied(said))
