"""What is said in a crew room and not to us: left alone, unless it surely is a report or a question for the assistant.

Sure is what stands far ahead of every other reading and has all its facts. What somebody answers us within minutes
counts as said to us. Nothing is read here and nothing answered.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any

from sitebot.acts import Act, Reading
from sitebot.message import Incoming
from sitebot.respond import Desk
from sitebot.talks import Talk

#: So far ahead of the next reading must an act stand.
SURE = 1.0
#: Practice is asked in words that crews use all day long.
SURER = 1.5
#: So soon after our last word to him in this room a short text of a person may go on with the matter.
FRESH = timedelta(minutes=10)
MOST_WORDS = 4
#: So soon after a reminder "done" in the room is an answer to it.
REMINDED = timedelta(minutes=15)
#: A photo so soon after a report shows what was reported; any other may show the lunch.
PHOTO_NEAR = timedelta(minutes=1)
PHOTO = "report_photo"


def meant_for_us(message: Incoming, reading: Reading, alone: Reading, talk: Talk, desk: Desk) -> Reading | None:
    """What of a reading is for us; None: leave it alone. ``alone`` is the text read without the talk before it."""
    if message.addressed or not message.shared or _goes_on(message, reading, alone, talk, desk):
        return reading
    sure = tuple(act for act in alone.acts if is_sure(act, alone.margin, desk)) if not alone.unclear else ()
    with_photo = tuple(act for act in alone.acts if act in sure or act.name == PHOTO)
    return replace(alone, acts=with_photo) if sure else None


def _goes_on(message: Incoming, reading: Reading, alone: Reading, talk: Talk, desk: Desk) -> bool:
    """An answer to our question, "2 more" after a report, "done" after a reminder: only just now, and in few words."""
    if len(message.text.split()) > MOST_WORDS or not reading.acts:
        return False
    if {a.name for a in reading.acts} == {PHOTO}:
        return _heard_within(PHOTO_NEAR, message, talk, desk)
    if reading.acts[0].name == "ack":
        return bool(reading.acts[0].facts.get("what")) and _just_reminded(desk)
    if not _heard_within(FRESH, message, talk, desk):
        return False
    return reading.acts != alone.acts and [a.name for a in alone.acts] != ["off_topic"]


def _heard_within(span: timedelta, message: Incoming, talk: Talk, desk: Desk) -> bool:
    return talk.heard_in == message.room and talk.at is not None and desk.now - talk.at <= span


def _just_reminded(desk: Desk) -> bool:
    return any(desk.now - reminder.at <= REMINDED for reminder in desk.log.reminded(desk.day))


def is_sure(act: Act, margin: float | None, desk: Desk) -> bool:
    """A report or a question of the trade, its facts whole, far ahead of any other reading."""
    if desk.person is None and act.name != "ask_safety":
        return False
    whole = WHOLE.get(act.name)
    return whole is not None and _is_far(act, margin) and whole(act.facts, desk)


def _is_far(act: Act, margin: float | None) -> bool:
    if act.name == "ask_practice":
        return margin is not None and margin >= SURER
    return margin is None or margin >= SURE


Facts = Mapping[str, Any]


def _place(facts: Facts, desk: Desk) -> bool:
    """A place of the site."""
    place = facts.get("place")
    return bool(place) and place in {p.name for p in desk.log.plan()} | set(desk.log.places_used())


def _numbers(facts: Facts, desk: Desk) -> bool:
    """Splices that are in the log, all of them."""
    found = facts.get("numbers")
    return isinstance(found, list) and bool(found) and all(isinstance(n, int) and desk.log.splice(n) for n in found)


def _splices(facts: Facts, desk: Desk) -> bool:
    counted = facts.get("count") or facts.get("numbers")
    return bool(counted) and (facts.get("joint") not in (None, "unknown") or _place(facts, desk))


def _verdict(facts: Facts, desk: Desk) -> bool:
    said = facts.get("verdict") in ("accept", "reject")
    return said and (_numbers(facts, desk) or (desk.may_judge and _place(facts, desk)))


def _iron(facts: Facts, desk: Desk) -> bool:
    if facts.get("event") == "reading":
        return isinstance(facts.get("temp_f"), int | float)
    return bool(facts.get("event")) and bool(facts.get("iron"))


def _amend(facts: Facts, desk: Desk) -> bool:
    target = facts.get("target")
    numbers = target if isinstance(target, list) else [target]
    return bool(facts.get("void") or facts.get("change")) and _numbers({"numbers": numbers}, desk)


def _leads(desk: Desk) -> bool:
    return desk.role in ("lead", "superintendent")


def _day(facts: Facts, desk: Desk) -> bool:
    return _leads(desk) and bool(facts.get("date")) and bool(facts.get("start") or facts.get("no_work"))


def _one_of(*names: str) -> Callable[[Facts, Desk], bool]:
    return lambda facts, desk: any(facts.get(name) not in (None, "", "other") for name in names)


#: Everybody talks about the weather; two of these at once are a report.
WEATHER = ("air_f", "rain", "wind", "shelter")
#: Of each act that may be taken up unasked: are its facts whole?
WHOLE: Mapping[str, Callable[[Facts, Desk], bool]] = {
    "report_splices": _splices,
    "report_rework": _numbers,
    "report_inspection": _verdict,
    "report_sample": _one_of("verdict"),
    "report_iron": _iron,
    PHOTO: _numbers,
    "report_weather": lambda facts, desk: sum(facts.get(k) is not None for k in WEATHER) > 1,
    "report_damage": lambda facts, desk: _numbers(facts, desk) or _place(facts, desk),
    "release_pour": lambda facts, desk: desk.role in ("inspector", "superintendent") and _place(facts, desk),
    "plan_pour": lambda facts, desk: _leads(desk) and _place(facts, desk) and bool(facts.get("date")),
    "plan_day": _day,
    "amend": _amend,
    "ask_cut": _one_of("turn_deg", "inside_deg", "number_deg", "legs_deg", "flat_turn_deg"),
    "ask_acceptance": _one_of("defect"),
    "ask_practice": _one_of("topic"),
    "ask_power": _one_of("cord_ft", "generator_w", "breaker_a"),
    "ask_pour": _place,
    "ask_splice": lambda facts, desk: _numbers({"numbers": [facts.get("number")]}, desk),
    "ask_tally": _one_of("period", "place"),
    "ask_waiting": lambda facts, desk: True,
    # Who is hurt is helped, whomever he told.
    "ask_safety": lambda facts, desk: facts.get("topic") in ("burns", "first_aid"),
    "unsafe_plan": _one_of("danger"),
}
