"""Which module takes the facts of which act."""

from __future__ import annotations

from collections.abc import Callable

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import (
    acceptance,
    amends,
    asking,
    cuts,
    days,
    inspections,
    iron_events,
    knowledge,
    samples,
    splices,
    work,
)
from sitebot.understand.facts.plain import listed, plain
from sitebot.understand.facts.unmade import made_only
from sitebot.understand.marks import Text

Filler = Callable[[Text, Context], list[Act]]


def _one(filler: Callable[[Text, Context], Act]) -> Filler:
    return lambda text, context: [filler(text, context)]


FILLERS: dict[str, Filler] = {
    "report_splices": _one(splices.report_splices),
    "plan_splices": _one(splices.plan_splices),
    "report_inspection": inspections.report_inspection,
    "amend": amends.amend,
    "report_rework": work.report_rework,
    "report_sample": samples.report_sample,
    "report_iron": iron_events.report_iron,
    "report_damage": work.report_damage,
    "release_pour": days.release_pour,
    "plan_pour": days.plan_pour,
    "ask_pour": days.ask_pour,
    "plan_day": days.plan_day,
    "set_crew": days.set_crew,
    "ask_tally": asking.ask_tally,
    "ask_splice": asking.ask_splice,
    "ask_report": asking.ask_report,
    "ask_crew": asking.ask_crew,
    "language": asking.language,
    "ask_cut": cuts.ask_cut,
    "ask_acceptance": acceptance.ask_acceptance,
    "ask_practice": knowledge.ask_practice,
    "ask_safety": knowledge.ask_safety,
    "ask_power": knowledge.ask_power,
    "ask_ready": knowledge.ask_ready,
    "unsafe_plan": knowledge.unsafe_plan,
}


def fill(act: str, text: Text, context: Context) -> list[Act]:
    """The act with its facts, and further acts of the same kind."""
    filler = FILLERS.get(act)
    return filler(told(act, text), context) if filler else [Act(act, {})]


#: A correction says itself which of two values is right.
_PLAIN = {
    "report_splices", "report_inspection", "report_rework", "report_sample", "report_iron", "report_damage",
    "plan_splices",
}  # fmt: skip


def told(act: str, text: Text) -> Text:
    """The text as its facts are taken: lists in rows, slips of the tongue put right."""
    if act == "report_splices":
        return plain(made_only(text))
    return plain(text) if act in _PLAIN else listed(text) if act == "amend" else text
