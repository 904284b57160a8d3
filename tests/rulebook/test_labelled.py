"""The labelled messages answered out of the rules, from the facts a reader takes out of them.

The share answered right has its floor here, and the floor only rises. No wrong verdict, and every danger warned of.
"""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from sitebot.acts import Act
from sitebot.respond import acceptance, practice, safety
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import Site
from sitebot.wording.render import render_all
from tests.scorers import score_reading

HANDLERS = {"ask_acceptance": acceptance, "ask_practice": practice, "ask_safety": safety, "unsafe_plan": safety}
FOLDER = Path(__file__).parents[1] / "messages"
BOOK = Rulebook.load(rules_folder())
#: Share right [%] of each act.
FLOORS = {"ask_acceptance": 98, "ask_practice": 98, "ask_safety": 98, "unsafe_plan": 100}


def labels(act):
    for path in sorted(FOLDER.glob("[a-gi-oq-z].jsonl")):
        rows = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
        yield from (row for row in rows if row["act"] == act)


def facts_read(label):
    """The label's facts without what the rules have to find: verdict and answer."""
    facts = {k: v for k, v in label["facts"].items() if k not in ("verdict", "answer", "also")}
    if label["act"] == "ask_acceptance":
        clean = label["facts"].get("verdict") == "accept" and facts.get("value") is None
        facts["present"] = False if clean else True if facts.get("defect") else None
    return {**facts, "text": label["text"]}


def replied(label):
    who = label["who"]
    desk = SimpleNamespace(rules=BOOK, site=Site(name="none"), role=who, may_judge=who == "inspector")
    answer = HANDLERS[label["act"]].answer(Act(label["act"], facts_read(label)), desk)
    facts = {**facts_read(label), **answer.facts}
    reply = render_all(answer.says, "es" if label["lang"] == "es" else "en")
    return {"outcome": answer.outcome, "acts": [{"act": label["act"], "facts": facts}], "reply": reply}


def alone(label):
    """One act a message: what else stands in it is for the reader's own tests."""
    return not label["facts"].get("also")


@pytest.mark.parametrize("act", HANDLERS)
def test_labelled_messages_are_answered_right(act):
    """The share right is at or above its floor, and nothing does harm."""
    found = [(row, score_reading.judge(row, replied(row))) for row in labels(act) if alone(row)]
    harm = [(row["id"], why) for row, (kind, why) in found if kind == "HARM"]
    right = sum(kind == "right" for _, (kind, _) in found)
    assert harm == []
    assert len(found) >= 20
    assert 100 * right / len(found) >= FLOORS[act]


def test_nearly_all_replies_fit_one_part():
    """At most one reply in fifty needs a second SMS part."""
    replies = [replied(row)["reply"] for act in HANDLERS for row in labels(act) if alone(row)]
    assert sum(len(reply) > 160 for reply in replies) <= len(replies) / 50
