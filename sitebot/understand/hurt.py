"""Somebody is hurt: seen before anything else is weighed, whatever else a text says. What to do is a rule's matter."""

from __future__ import annotations

from dataclasses import replace

from sitebot.acts import Act, Reading
from sitebot.rulebook.phrases import fold, said
from sitebot.rulebook.word_lists import word_lists
from sitebot.understand.context import Context

#: What is kept of a text that also tells of somebody hurt; a burn is no char then, and no fault of an iron.
_KEPT = ("report_splices",)


def hurt(text: str, context: Context) -> Act | None:
    """What happened to somebody: burns, electric, first_aid."""
    plain, lists = fold(text), word_lists("hurt")
    persons = "|".join([*lists["person"], *(_name(n) for n in context.gazetteer.people)])
    for topic, phrases in lists.items():
        if topic != "person" and said(plain, (p.replace("<person>", f"({persons})") for p in phrases)):
            return Act("ask_safety", {"topic": topic, "text": plain.strip()})
    return None


def _name(name: str) -> str:
    return fold(name).strip()


def first(act: Act, reading: Reading) -> Reading:
    """First aid before the rest; what else the text may have been is not asked about now."""
    if any(a.name == act.name and a.facts.get("topic") in (act.facts["topic"], "first_aid") for a in reading.acts):
        return reading
    kept = () if reading.unclear else tuple(a for a in reading.acts if a.name in _KEPT)
    return replace(reading, acts=(act, *kept), unclear=None)
