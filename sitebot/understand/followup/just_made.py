"""What is told anew of splices just reported: their kind, or that one of them is not made after all."""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.splices import KINDS
from sitebot.understand.followup.talk import asks, numbers_of, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, first, says
from sitebot.understand.marks import Text

REPORTS = ("report_splices", "report_rework")


def kind_told(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "butts", "they were flat corners", "todos rectos" right after a report: the kind of what was just made."""
    last = last_act(context)
    kind = first("kind.", row)
    if last is None or last.name not in REPORTS or not kind or not numbers_of(last) or asks(text):
        return None
    words = any_of(["kind_small", *(f"kind.{k}" for k in KINDS)])
    if re.sub(rf"(?<!\w){words}(?!\w)|[^a-z0-9]", " ", row).split():
        return None
    if last.facts.get("joint") not in (None, "unknown") and not says("kind_was", row):
        return None
    return [Act("amend", {"target": numbers_of(last), "change": {"joint": kind}})]


def not_made(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "no wait 8 is not done yet", "la 8 todavía no": a number just reported as made is not."""
    last, numbers = last_act(context), plain_numbers(text)
    if last is None or last.name not in REPORTS or asks(text) or not numbers:
        return None
    if not set(numbers) <= set(numbers_of(last)) or not says("not_made", row):
        return None
    words = any_of(["not_made", "not_made_small", "correcting", "no"])
    if re.sub(rf"(?<!\w){words}(?!\w)|[^a-z]", " ", row).split():
        return None
    target: int | list[int] = numbers[0] if len(numbers) == 1 else numbers
    return [Act("amend", {"target": target, "void": True})]
