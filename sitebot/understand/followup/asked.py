"""Questions that go on with the question before: "and headwall", "west only", "and now", "y ayer", "los de Neto".

The last question is asked again with what is new: a place, a day, a person.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks, numbers_of
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, first, says
from sitebot.understand.marks import Text
from sitebot.understand.people import People
from sitebot.understand.spelling import fold

#: Who asks for a count group by group says it in so few words.
MOST_WORDS = 9
_AGAIN = ("ask_pour", "ask_tally", "ask_waiting")
_PERIODS = {"today": "today", "hoy": "today", "yesterday": "yesterday", "ayer": "yesterday"}


def again(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """Nothing but small words and what is new."""
    last = last_act(context)
    counted, by = last_act(context, "ask_tally"), first("by.", row)
    if counted and by and len(text.tokens) <= MOST_WORDS and not re.search(r"\d", row):
        return [replace(counted, facts={**{k: v for k, v in counted.facts.items() if k != "place"}, "by": by})]
    if last is None or last.name not in _AGAIN:
        return None
    fresh = _fresh(text, context)
    left = _left(text, row, context)
    if fresh is None or left or not (fresh or says("again_now", row)):
        return None
    if last.name == "ask_tally":
        return [replace(last, facts=_merged(dict(last.facts), fresh))]
    place = fresh.get("place") or last.facts.get("place")
    others = set(fresh) - {"place"}
    return None if others else [Act(last.name, {"place": place} if place else {})]


def _fresh(text: Text, context: Context) -> dict[str, Any] | None:
    """The place, the day or the person named; None where two of a kind are."""
    places = places_said(text, context)
    people = People(text, context.gazetteer)
    names = {people.shown(at) for at in range(len(text.tokens)) if text.free(at) and text.word(at) in people.known}
    if len(places) > 1 or len(names) > 1:
        return None
    facts: dict[str, Any] = {}
    for name, found in (("place", places), ("welder", names)):
        if found:
            facts[name] = found.pop()
    days = [_PERIODS[w] for t in text.tokens if (w := fold(t.word)) in _PERIODS]
    return facts | ({"period": days[0]} if days else {})


def places_said(text: Text, context: Context) -> set[str]:
    """The places named, also by the one word that is only theirs: "B" of "sump B", "the ramps" of "ramp wall"."""
    known = {p: set(fold(p).split()) for p in context.gazetteer.places}
    marked = {str(m.value) for m in text.of("place")}
    if marked & set(known):
        return marked & set(known)
    found = set()
    for word in re.findall(r"[a-z0-9]+", fold(" ".join(f"{t.word} {t.raw}" for t in text.tokens))):
        hits = [p for p, words in known.items() if word in words or word.removesuffix("s") in words]
        found |= set(hits) if len(hits) == 1 else set()
    return found or marked


def _left(text: Text, row: str, context: Context) -> set[str]:
    """Words that are neither small nor part of what is new."""
    known = {w for m in text.of("place", "date") for i in range(m.start, m.end) for w in fold(text.word(i)).split()}
    places = [w for p in places_said(text, context) for w in fold(p).split()]
    known |= {*places, *(f"{w}s" for w in places)}
    known |= {w for name in context.gazetteer.people for w in fold(name).split()} | set(_PERIODS)
    small = ["again_small", "again_now", *(["is_it_so"] if asks(text) else [])]
    rest = re.sub(rf"(?<!\w){any_of(small)}(?!\w)", " ", fold(row))
    # A word the speller made into another one ("ramps") stands for the place it was written as.
    known |= {fold(t.word) for t in text.tokens if fold(t.raw).removesuffix("s") in known}
    return set(re.findall(r"[a-z0-9]+", rest)) - known


def _merged(facts: dict[str, Any], fresh: dict[str, Any]) -> dict[str, Any]:
    """A new day takes the place of the old one; a tally of one place is of all days."""
    if "period" in fresh:
        facts.pop("date", None)
    if "place" in fresh:
        facts.pop("by", None)
    return {**facts, **fresh}


def whose(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "whose was that", "quien la hizo": the splice just spoken of."""
    if not says("whose", row) or re.search(r"\d", row) or len(text.tokens) > MOST_WORDS or text.of("place"):
        return None
    spoken = any(numbers_of(a) for a in context.last)
    return [Act("ask_splice", {"number": "last"})] if spoken else None


def open_still(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "whats open for rework", "que falta rehacer": what was rejected and has no redo yet."""
    if not says("open_asked", row) or re.search(r"\d", row) or context.role == "stranger":
        return None
    return [Act("ask_tally", {"of": "open"})]
