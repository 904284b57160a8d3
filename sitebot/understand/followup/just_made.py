"""What is told anew of splices just reported: their kind, or that one of them is not made after all."""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.splices import KINDS, REPORTS
from sitebot.understand.followup.talk import HEATS, asks, numbers_of, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import begins, besides, first, says
from sitebot.understand.marks import Text
from sitebot.understand.people import welders
from sitebot.understand.spelling import fold


def kind_told(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "butts", "they were flat corners", "todos rectos" right after a report: the kind of what was just made."""
    last = last_act(context)
    kind = first("kind.", row)
    if last is None or last.name not in REPORTS or not kind or not numbers_of(last) or asks(text):
        return None
    if besides(row, "kind_small", *(f"kind.{k}" for k in KINDS), kept="a-z0-9"):
        return None
    if last.facts.get("joint") not in (None, "unknown") and not says("kind_was", row):
        return None
    return [Act("amend", {"target": numbers_of(last), "change": {"joint": kind}})]


def made_with(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "with iron 1 at 372", "con el fierro 1 a 372" right after a report: how what was just made was made."""
    last = last_act(context)
    if last is None or last.name not in REPORTS or not numbers_of(last) or asks(text) or not begins("made_with", row):
        return None
    irons, heats = text.of("iron"), [m for m in text.of("temp", "n") if m.value in HEATS]
    if not (irons or heats) or len(irons) > 1 or len(heats) > 1 or len(text.marks) != len(irons) + len(heats):
        return None
    shown = re.sub(r"<\w+>", " ", text.row()[0])
    if besides(shown, "made_with", "kind_small", "heat_small"):
        return None
    change = {"iron": irons[0].value} if irons else {}
    change |= {"temp_f": float(heats[0].value)} if heats else {}
    return [Act("amend", {"target": numbers_of(last), "change": change})]


def made_by(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "me and Amaro did them", "las hicimos Tobin y yo" right after a report: who made what was just made."""
    last = last_act(context)
    if last is None or last.name not in REPORTS or not numbers_of(last) or asks(text) or text.marks:
        return None
    names = welders(text, context.gazetteer, True)
    known = {word for name in context.gazetteer.people for word in fold(name).split()}
    rest = besides(row, "made_by_small", "kind_small")
    if not names or not says("made_by", row) or set(rest) - known:
        return None
    return [Act("amend", {"target": numbers_of(last), "change": {"welders": names}})]


def not_made(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "no wait 8 is not done yet", "la 8 todavía no": a number just reported as made is not."""
    last, numbers = last_act(context), plain_numbers(text)
    if last is None or last.name not in REPORTS or asks(text) or not numbers:
        return None
    if not set(numbers) <= set(numbers_of(last)) or not says("not_made", row):
        return None
    if besides(row, "not_made", "not_made_small", "correcting", "no"):
        return None
    target: int | list[int] = numbers[0] if len(numbers) == 1 else numbers
    return [Act("amend", {"target": target, "void": True})]
