"""From acts to answers: one handler an act. Reads the log and the rules, writes nothing.

Who may say what at all (strangers) is decided here, once; what a role may do stands with each matter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from sitebot.acts import Act
from sitebot.respond import (
    acceptance,
    amend,
    cuts,
    day,
    inspections,
    irons,
    photos,
    planning,
    pours,
    power,
    practice,
    ready,
    report,
    rework,
    roster,
    safety,
    saw,
    splices,
    talk,
    tally,
    weather,
)
from sitebot.respond.desk import Answer, Desk, Notice

HANDLERS: Mapping[str, Callable[[Act, Desk], Answer]] = {
    "ask_cut": cuts.answer,
    "ask_acceptance": acceptance.answer,
    "ask_practice": practice.answer,
    "ask_safety": safety.answer,
    "unsafe_plan": safety.answer,
    "ask_power": power.answer,
    "ask_ready": ready.answer,
    "ask_tally": tally.answer,
    "ask_splice": tally.splice,
    "ask_pour": pours.ask,
    "ask_waiting": pours.waiting,
    "ask_crew": roster.ask,
    "ask_day": day.ask,
    "ask_report": report.answer,
    "report_splices": splices.answer,
    "report_rework": rework.answer,
    "report_inspection": inspections.answer,
    "report_sample": irons.sample,
    "report_iron": irons.answer,
    "report_weather": weather.answer,
    "report_damage": pours.damage,
    "report_photo": photos.answer,
    "release_pour": pours.release,
    "plan_pour": pours.plan,
    "plan_place": planning.answer,
    "plan_splices": talk.plan_splices,
    "plan_day": day.plan,
    "amend": amend.answer,
    "set_crew": roster.set_crew,
    "language": roster.language,
    "opt_out": roster.opt_out,
    "opt_in": roster.opt_in,
    "teach": roster.teach,
    "ack": irons.acknowledge,
    "help": talk.help_,
    "greeting": talk.greeting,
    "off_topic": talk.off_topic,
}


def respond(act: Act, desk: Desk) -> Answer:
    """The answer to one act."""
    if desk.person is None and (refused := roster.stranger(act, desk)):
        return refused
    answer = HANDLERS[act.name](act, desk)
    if act.name == "ask_cut" and answer.outcome == "answer" and not any(a.name == "ask_cut" for a in desk.last):
        return _first_cut(answer, desk)
    return answer


def _first_cut(answer: Answer, desk: Desk) -> Answer:
    """The first cut answer of somebody's day says whether corners may be made on site (site setting field_fittings)."""
    note = saw.fitting_note(desk) if desk.log.is_kept else None
    return replace(answer, aside=(*answer.aside, note)) if note else answer


__all__ = ["HANDLERS", "Answer", "Desk", "Notice", "respond"]
