"""Small talk that has a purpose: help, greetings, thanks, "why?", "more", and what is only planned."""

from __future__ import annotations

from sitebot.acts import Act
from sitebot.message import Say, Term
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.places import place_of


def help_(act: Act, desk: Desk) -> Answer:
    """The emergency line first, then what one can text."""
    return Answer((Say("talk.help", {"emergency": desk.site.emergency_number}), Say(f"talk.help_{desk.role}")))


def greeting(act: Act, desk: Desk) -> Answer:
    return Answer((Say("talk.greeting", {"name": desk.person.name if desk.person else None}),))


def off_topic(act: Act, desk: Desk) -> Answer:
    """Left alone."""
    return Answer(outcome="ignore")


def plan_splices(act: Act, desk: Desk) -> Answer:
    """A plan is never logged as made; it gets the state of the place."""
    facts = act.facts
    count, place = facts.get("count"), place_of(facts.get("place"), desk)
    kind = (
        Term(f"kind.{facts['joint']}", int(count or 2))
        if facts.get("joint") not in (None, "unknown", "mixed")
        else None
    )
    values = {"n": count, "kind": kind or Term("splice", int(count or 2)), "place": place}
    return Answer((Say("talk.planned", values),), facts={"place": place} if place else {})
