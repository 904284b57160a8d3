"""``sitebot read``: the road of a message without a site and without a journal. Reads, answers, records nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from sitebot.acts import Reading
from sitebot.replies import Step, outcome_of, reply_text
from sitebot.respond import Answer, Desk, respond
from sitebot.respond.blank import ROSTER, BlankLog
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import Site
from sitebot.talks import Talk
from sitebot.understand import read
from sitebot.understand.context import Context
from sitebot.understand.language import language_of

SITE = Site(name="no site")


def read_lines(lines: Iterable[str], now: datetime | None = None) -> Iterator[dict[str, Any]]:
    """One result a line of {"id", "who", "text"}; a line that is no such JSON is told so in its own result."""
    rules = Rulebook.load(rules_folder())
    moment = now or datetime.now(UTC)
    for number, line in enumerate(filter(str.strip, lines), start=1):
        try:
            row = json.loads(line)
            text = row["text"]
        except (ValueError, KeyError, TypeError):
            yield {"id": f"line {number}", "fault": 'not a line of {"id", "who", "text"}'}
            continue
        yield {"id": row.get("id"), **read_one(str(text), str(row.get("who", "crew")), rules, moment)}


def context_of(who: str, now: datetime) -> Context:
    return Context(now=now, role=who)


def read_one(text: str, who: str, rules: Rulebook, now: datetime) -> dict[str, Any]:
    """What a text means and what would be answered, as ``sitebot read`` prints it."""
    person = next((replace(p, name="") for p in ROSTER if p.role == who), None)
    desk = Desk(now, now, person, SITE, BlankLog(), rules)
    reading: Reading = read(text, context_of(who, now))
    steps = [Step(act, _answer(act, desk)) for act in reading.acts]
    asked = next((s.answer.asks for s in steps if s.answer.asks), None) or reading.unclear
    reply, _ = reply_text(steps, asked, language_of(text), desk, Talk())
    acts = [{"act": s.act.name, "facts": _facts(s)} for s in steps]
    return {"outcome": outcome_of(steps, asked), "acts": acts, "reply": reply}


def _answer(act: Any, desk: Desk) -> Answer:
    return Answer() if act.name in ("ask_why", "ask_more") else respond(act, desk)


def _facts(step: Step) -> Mapping[str, Any]:
    made_up = {"numbers", "count", "place"} if step.act.name.startswith("report_") else set()
    worked_out = {k: v for k, v in step.answer.facts.items() if k not in made_up}
    return {**step.act.facts, **worked_out}
