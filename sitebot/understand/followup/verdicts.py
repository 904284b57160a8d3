"""Verdicts and redos that name no number: they speak of the splices just spoken of."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import REPORTS, Act
from sitebot.understand.context import Context
from sitebot.understand.followup.asked import places_said
from sitebot.understand.followup.talk import asks, numbers_of, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import begins, either, first, is_just, says
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_planned, is_supposed

#: Who passes a whole place says it in so few words.
MOST_OF_A_PLACE = 8
_BEFORE = ("report_splices", "report_rework", "report_inspection", "amend")


def heard(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "ok", "listo" of who may give no verdict, right after our reply to his own report: he has read it."""
    last = last_act(context)
    if context.judges or context.pending or last is None or last.name not in REPORTS or not is_just("heard", row):
        return None
    if is_just("done", row) and context.reminders and context.reminders[0] != "sample":
        return None  # "listo" may as well answer a reminder: what heats or cools goes first
    # As thanks: an open reminder is not done by it, a hot iron stays hot.
    return [Act("ack", {"thanks": True})]


def follow(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "that one's good", "good now", "nope bad one", "rest good", "13 too"."""
    if asks(text) or says("other_matter", row):
        return None
    last, numbers = last_act(context), plain_numbers(text)
    good, bad = says("good", row), says("bad", row)
    if says("too", row) and numbers and last and last.name == "report_inspection" and not good and not bad:
        return [Act("report_inspection", {"numbers": numbers, "verdict": last.facts.get("verdict", "accept")})]
    if not (good or bad) or numbers or text.of("place", "range", "temp") or len(text.tokens) > 6:
        return None
    verdict = "reject" if bad else "accept"
    if says("rest", row):
        return [Act("report_inspection", {"numbers": "rest", "verdict": verdict})]
    if last is None or last.name not in _BEFORE or last.facts.get("void"):
        return None
    if not begins("this", row) or not numbers_of(last):
        return None
    if last.name == "report_inspection" and last.facts.get("verdict") == "reject" and not bad and says("good_now", row):
        # What was cut out stays rejected; good is what was made in its place.
        return [Act("report_inspection", {"numbers": "redo", "verdict": "accept"})]
    return [Act("report_inspection", {"numbers": numbers_of(last), "verdict": verdict, **_defect_of(acts)})]


def place_good(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "basin so far all ok" of who may judge: every splice made there by then (days/README.md, 10)."""
    if not context.judges or asks(text) or len(text.tokens) > MOST_OF_A_PLACE or not says("all_good", row):
        return None
    if (
        text.of("n", "range", "len", "pct", "iron")
        or says("bad", row)
        or says("not_all", row)
        or says("other_matter", row)
    ):
        return None
    places = places_said(text, context)
    return [Act("report_inspection", {"place": places.pop(), "verdict": "accept"})] if len(places) == 1 else None


#: What may stand before the number of a short verdict.
_LEAD = r"\W*(?:(?:ok|and|y|#|no|number|splice|la|el) )*(?:# ?)?"


def short(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "13 ok", "12 bad", "i mean 5 reject, ...": a number and a verdict by who may give one."""
    if not context.judges or asks(text) or says("other_matter", row):
        return None
    numbers = plain_numbers(text)
    if hit := re.search(rf"\b(?:mean|meant) (\d+) (?:is |was )?({either('good')}|{either('bad')})(?!\w)", row):
        numbers, verdict = [int(hit[1])], "reject" if says("bad", hit[2]) else "accept"
    elif re.fullmatch(rf"{_LEAD}\d+\W*(?:is |was |se ve )?(?:{either('good')}|{either('bad')})\W*", row):
        verdict = "reject" if says("bad", row) else "accept"
    else:
        return None
    if not numbers or max(numbers) > context.highest:
        return None
    defect = first("defect.", row) if verdict == "reject" else None
    told = _defect_of(acts) or ({"defect": defect} if defect else {})
    return [Act("report_inspection", {"numbers": numbers, "verdict": verdict, **told})]


def _defect_of(acts: list[Act]) -> dict[str, Any]:
    named = next((a.facts for a in acts if a.facts.get("defect")), {})
    return {k: named[k] for k in ("defect", "value", "unit") if k in named}


def of_redo(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "eyeballed that redo, its a pass": the redo that waits, whatever its number."""
    good, bad = says("good", row), says("bad", row)
    if not context.judges or asks(text) or plain_numbers(text) or not says("the_redo", row) or good == bad:
        return None
    if is_planned(text) or is_supposed(text) or says("redo_not_yet", row):
        return None
    place = {"place": text.of("place")[0].value} if text.of("place") else {}
    told = _defect_of(acts) if bad else {}
    return [Act("report_inspection", {"numbers": "redo", "verdict": "reject" if bad else "accept", **place, **told})]


def defect_told(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "pores" right after a reject that named no defect: its reason."""
    last = last_act(context)
    if last is None or last.name != "report_inspection" or last.facts.get("verdict") != "reject":
        return None
    defect = first("defect.", row)
    if defect is None or last.facts.get("defect") or len(text.tokens) > 4 or plain_numbers(text) or asks(text):
        return None
    return [Act("report_inspection", {"numbers": numbers_of(last), "verdict": "reject", "defect": defect})]


def redone(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "redid it": the splice rejected last."""
    last = last_act(context, "report_inspection")
    if plain_numbers(text) or asks(text) or not says("redone", row):
        return None
    if last is None or last.facts.get("verdict") != "reject" or not numbers_of(last):
        return None
    told = acts[0].facts if acts else {}
    facts = {k: told[k] for k in ("iron", "temp_f", "welders") if k in told}
    return [Act("report_rework", {**facts, "numbers": numbers_of(last), "done": True})]
