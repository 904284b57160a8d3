"""The plan of a place changed by chat: how many splices of each kind it shall have. Each change is an entry."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import PlacePlanned
from sitebot.message import Say, Term
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.people import notice
from sitebot.respond.places import kind_at, place_of

MAY = ("lead", "superintendent")
MOST = 5000


def answer(act: Act, desk: Desk) -> Answer:
    """Set, raise or lower what is planned at a place; the reply says its whole plan and what stood there before."""
    place = place_of(act.facts.get("place"), desk)
    if place is None:
        return Answer((Say("pours.which_place"),), "ask_back", asks=Unclear("place"))
    before = dict(next((p.kinds for p in desk.log.plan() if p.name == place), {}))
    kinds = _wanted(act.facts, before, place, desk)
    if kinds is None:
        return Answer((Say("plan.what"),), "ask_back", asks=Unclear("count"))
    values = {"place": place, "kinds": kinds_said(kinds), "before": kinds_said(before) or None}
    if desk.role not in MAY:
        whose = desk.with_role("lead")
        tell = Say("plan.wish", {**values, "teller": desk.person.name if desk.person else ""})
        says = (Say("people.passed_on", {"names": [p.name for p in whose]}),)
        return Answer(says, "refuse", notices=notice(whose, desk, tell))
    if kinds == before:
        return Answer((Say("plan.same", values),), facts={"place": place})
    told = Say("plan.told", {**values, "by": desk.person.name if desk.person else ""})
    return Answer(
        (Say("plan.set", values),),
        "record",
        entries=(PlacePlanned(place=place, kinds=kinds),),
        notices=notice(desk.with_role("lead", "superintendent", "inspector"), desk, told),
        facts={"place": place},
    )


def _wanted(facts: Mapping[str, Any], before: Mapping[str, int], place: str, desk: Desk) -> dict[str, int] | None:
    """The kinds and numbers that are meant; None where they make no sense."""
    if facts.get("kinds"):
        # A place is planned kind by kind: who tells of the butts has said nothing of the tees (common practice).
        new = ({} if facts.get("only") else dict(before)) | _counts(facts["kinds"], place, desk)
    else:
        new = dict(before)
        for key, sign in (("more", 1), ("less", -1)):
            for kind, n in _counts(facts.get(key) or {}, place, desk).items():
                new[kind] = new.get(kind, 0) + sign * n
    is_told = any(facts.get(k) for k in ("kinds", "more", "less"))
    if not is_told or not all(0 <= n <= MOST for n in new.values()):
        return None
    return {k: n for k, n in new.items() if n}


def _counts(told: Mapping[str, Any], place: str, desk: Desk) -> dict[str, int]:
    return {kind_at(k, place, desk): int(n) for k, n in told.items() if isinstance(n, int)}


def kinds_said(kinds: Mapping[str, int]) -> list[Say]:
    return [Say("splices.of_kind", {"n": n, "kind": Term(f"kind.{k}", n)}) for k, n in kinds.items()]
