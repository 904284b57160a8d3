"""Another report like the last one, and corrections of the one just made."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks, numbers_of, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, either, first, says
from sitebot.understand.marks import Text

_KINDS = ("flat_corner", "edge_corner", "corner", "butt", "tee", "cross", "wye")
_REPORTS = ("report_splices", "report_rework")


def more(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "2 more", "same again", "same but iron 1", "n the tee", "1 corner": another report like the last one."""
    last = last_act(context, *_REPORTS)
    if last is None or asks(text) or says("not_a_report", row) or _is_other(acts, context, len(text.tokens)):
        return None
    kind, numbers = first("kind.", row), plain_numbers(text)
    again = says("again", row) and _is_about_splices(context)
    if acts and acts[0].name in ("report_iron", "report_sample") and not again and not kind:
        return None  # "traje otra plancha"
    if not (says("more", row) or again or (kind and _is_bare(row))) or len(numbers) > 1 or text.of("range"):
        return None
    facts: dict[str, Any] = {k: last.facts[k] for k in ("joint", "place", "iron", "profile") if last.facts.get(k)}
    one = says("one_more", row) or not again
    facts["count"] = numbers[0] if numbers else (1 if one else _count(last))
    if again:
        facts |= {k: last.facts[k] for k in ("welders", "joints") if last.facts.get(k)}
    return [Act("report_splices", facts | _named_anew(text, kind))]


def _is_other(acts: list[Act], context: Context, words: int) -> bool:
    """The text alone is another matter, or names its splices itself; "2 more" without a word of plans is none."""
    latest = last_act(context)
    if not acts:
        return False
    asked_or_planned = acts[0].name.startswith("ask_") or acts[0].name == "plan_splices"
    if acts[0].name in ("ask_tally", "report_rework") or (asked_or_planned and words > 4):
        return True
    if latest is not None and latest.name == acts[0].name == "ask_cut":
        return True
    return acts[0].name == "report_splices" and bool(acts[0].facts.get("numbers"))


def _is_about_splices(context: Context) -> bool:
    latest = last_act(context)
    return latest is not None and latest.name in (*_REPORTS, "amend", "report_inspection")


def _is_bare(row: str) -> bool:
    """ "n the tee", "1 corner"."""
    kinds = any_of(f"kind.{k}" for k in _KINDS)
    return (
        re.match(r"\W*(n|and|y|plus)\b", row) is not None or re.fullmatch(rf"\W*\d{{1,2}} {kinds}\W*", row) is not None
    )


def _count(act: Act) -> int:
    return int(act.facts.get("count") or len(numbers_of(act)) or 1)


def _named_anew(text: Text, kind: str | None) -> dict[str, Any]:
    """What the follow-up itself names takes the place of what was taken over."""
    marks = {name: text.of(mark) for name, mark in (("iron", "iron"), ("place", "place"), ("temp_f", "temp"))}
    facts: dict[str, Any] = {name: found[0].value for name, found in marks.items() if found}
    return facts | ({"joint": kind} if kind else {})


def correction(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "378 not 368", "cross i mean", "make that 9 not 8", "wait only 2"."""
    last = last_act(context, *_REPORTS)
    if last is None:
        return None
    if hit := re.search(r"(?<![\w/])(\d+)\s*,? (?:not|no) (\d+)(?![\w/])", row):
        return _swapped(int(hit[1]), int(hit[2]), last)
    if hit := re.match(
        rf"\W*(?:{any_of(['correcting', 'no'])}\W*)?(?:only|just|solo|nomas|son|eran) (\d\d?)\b"
        r"(?! (?:more|mas|another)\b)",
        row,
    ):
        return [Act("amend", {"target": "last", "change": {"count": int(hit[1])}})]
    if count := _counted_anew(row, last, context):
        return [Act("amend", {"target": "last", "change": {"count": count}})]
    latest = last_act(context)
    if (
        latest is last
        and last.name == "report_splices"
        and (hit := re.fullmatch(rf"\W*{either('no')}\W*(\d\d?)\W*", row))
    ):
        return [Act("amend", {"target": "last", "change": {"count": int(hit[1])}})]
    kind = first("kind.", row)
    if kind and says("meant", row) and not plain_numbers(text):
        return [Act("amend", {"target": "last", "change": {"joint": kind}})]
    return None


def _counted_anew(row: str, last: Act, context: Context) -> int:
    """ "make that 2, duff pulled another one": so many, and no more said of them; 0 where it names a splice."""
    noun = rf"(?: (?:{any_of(f'kind.{k}' for k in _KINDS)}|of (?:them|em|those)))?"
    hit = re.match(
        rf"\W*(?:{either('correcting')}\W*)+(?:it is |it was |its |son |eran |fueron )?(\d\d?){noun}"
        r" ?(?:[,.;!]|then|$)",
        row,
    )
    if hit is None or last_act(context) is not last or last.name != "report_splices":
        return 0
    count = int(hit[1])
    return count if count <= max(4, _count(last) + 3) and count not in numbers_of(last)[1:] else 0


def voided(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "scratch 11, we never welded it": a splice of the log taken back by its number."""
    hit = re.match(rf"\W*{either('void')} (?:# ?|no |splice |number |el |la )*(\d+)(?![\w/:])", row)
    if hit is None or asks(text) or not 0 < int(hit[1]) <= context.highest:
        return None
    return [Act("amend", {"target": int(hit[1]), "void": True})]


def heat_added(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "forgot temp on 7 was 366": a heat told afterwards for a splice of the log."""
    hit = re.search(r"\b(?:on|of|for|del|de|en el|al) # ?(\d+)\b|\b(?:on|of|for|del|de|en el|al) (\d+)\b", row)
    heats = [m.value for m in text.of("temp", "n") if isinstance(m.value, int | float) and 250 <= m.value <= 550]
    if hit is None or not heats or not (says("forgot", row) and says("heat", row)):
        return None
    number = int(hit[1] or hit[2])
    if not 0 < number <= context.highest:
        return None
    return [Act("amend", {"target": number, "change": {"temp_f": heats[0]}})]


def _swapped(new: int, old: int, last: Act) -> list[Act] | None:
    """Which of the last report's figures the old one was."""
    temp = last.facts.get("temp_f")
    if isinstance(temp, int | float) and abs(temp - old) < 1:
        return [Act("amend", {"target": "last", "change": {"temp_f": float(new)}})]
    if old in numbers_of(last):
        return [Act("amend", {"target": old, "change": {"number": new}})]
    return [Act("amend", {"target": "last", "change": {"count": new}})] if _count(last) == old else None
