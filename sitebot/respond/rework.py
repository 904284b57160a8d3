"""Rejected splices: cut out, redone, and what is still open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sitebot.acts import Act, Unclear
from sitebot.entries import CutOut, Entry, SpliceVoided
from sitebot.message import Say
from sitebot.record import Splice
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.people import ids_of, notice
from sitebot.respond.places import kind_at, place_of
from sitebot.respond.splices import Wanted, made_of, numbered, reported, weather_of


def answer(act: Act, desk: Desk) -> Answer:
    """Record a redo as a new splice that names the one it replaces, or a cut-out that waits for its redo."""
    numbers = [int(n) for n in act.facts.get("numbers") or []] or _the_open_one(desk)
    if not numbers:
        return Answer((Say("rework.which"),), "ask_back", asks=Unclear("number"))
    unknown = [n for n in numbers if desk.log.splice(n) is None]
    if unknown and len(unknown) < len(numbers) and not act.facts.get("new_numbers"):
        # "cut out 4 and did it again as 6": a number nobody knows beside a known one is that of the new weld.
        numbers = [n for n in numbers if n not in unknown]
        act = Act(act.name, {**act.facts, "new_numbers": unknown}, act.confidence)
    elif unknown:
        return Answer((Say("rework.unknown", {"numbers": unknown}),), "ask_back", asks=Unclear("number"))
    if not act.facts.get("done"):
        return _not_done(act, numbers, desk)
    return _redone(act, [last_of(n, desk) for n in numbers], desk)


def _the_open_one(desk: Desk) -> list[int]:
    """ "redid it" means the only open one."""
    open_ones = [s.number for s in desk.log.open_rework()]
    return open_ones if len(open_ones) == 1 else []


def last_of(number: int, desk: Desk) -> Splice:
    """The weld that stands open in the chain of redos of a number: a redo of a redo names the redo."""
    splice = desk.log.splice(number)
    seen = {number}
    while splice and (later := [r for r in desk.log.redos_of(splice.number) if r.status == "rejected"]):
        if later[-1].number in seen:
            break
        splice = later[-1]
        seen.add(splice.number)
    return splice or Splice(number=number)


def _not_done(act: Act, numbers: Sequence[int], desk: Desk) -> Answer:
    says = (Say("rework.still_open", {"numbers": list(numbers)}),)
    entries: tuple[Entry, ...] = ()
    if act.facts.get("cut_out"):
        entries = tuple(CutOut(number=n) for n in numbers)
        says = (Say("rework.cut_out", {"numbers": list(numbers)}),)
    return Answer(says, "record", entries=entries, facts={"numbers": list(numbers)})


def _redone(act: Act, olds: Sequence[Splice], desk: Desk) -> Answer:
    facts = act.facts
    welders, joined = ids_of(facts.get("welders") or [], desk)
    made = made_of(facts, welders, desk)
    own = [int(n) for n in facts.get("new_numbers") or []]
    taken = [n for n in own if desk.log.is_kept and desk.log.splice(n)]
    if taken:
        return Answer((Say("splices.taken", {"numbers": taken, "next": desk.log.highest() + 1}),), "ask_back")
    wanted: list[Wanted] = []
    pairs = _pairs(olds, own)
    for old, number in pairs:
        place = place_of(facts.get("place"), desk) or old.place
        kind = kind_at(facts.get("joint"), place, desk) if facts.get("joint") else old.kind
        wanted.append(Wanted(number, kind, place))
    fresh = numbered(wanted, desk)
    entries: list[Entry] = [*joined, *weather_of(facts, made, desk)]
    for (old, _), w in zip(pairs, fresh, strict=True):
        # What the redo does not say it takes from the weld it replaces, the profile too.
        entry = reported(w, made, desk, redo_of=old.number)
        entries.append(replace(entry, profile=entry.profile or old.profile))
    skipped = [o for o in olds if desk.log.is_kept and o.status == "pending"]
    entries += [SpliceVoided(number=o.number) for o in skipped]
    says = [Say("rework.redone", {"new": [w.number for w in fresh], "old": [o.number for o in olds]})]
    if skipped:
        says.append(Say("rework.was_pending", {"numbers": [o.number for o in skipped]}))
    elif len(fresh) == len(olds):
        says.append(Say("rework.one_or_two"))
    news = [w.number for w in fresh]
    tell = Say("rework.to_inspect", {"new": news, "old": [o.number for o in olds], "place": fresh[0].place})
    return Answer(
        tuple(says),
        "record",
        entries=tuple(entries),
        notices=notice(desk.with_role("inspector"), desk, tell),
        facts={"made": news, "place": fresh[0].place},
        asks=Unclear("rework.two", values={"numbers": [o.number for o in olds]}) if len(fresh) == len(olds) else None,
    )


def _pairs(olds: Sequence[Splice], own: Sequence[int]) -> list[tuple[Splice, int | None]]:
    """Old weld and number of the new one; one cut-out with two new numbers needs two welds, both name it."""
    if len(olds) == 1 and len(own) > 1:
        return [(olds[0], n) for n in own]
    return [(old, own[i] if i < len(own) else None) for i, old in enumerate(olds)]
