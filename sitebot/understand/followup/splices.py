"""Another report like the last one."""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks, numbers_of, plain_numbers
from sitebot.understand.followup.talk import last as last_act
from sitebot.understand.followup.words import any_of, first, says
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

KINDS = ("flat_corner", "edge_corner", "corner", "butt", "tee", "cross", "wye")
REPORTS = ("report_splices", "report_rework")


def more(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "2 more", "same again", "same but iron 1", "n the tee", "1 corner": another report like the last one."""
    last = last_act(context, *REPORTS)
    only = not _says_more(text, context)
    again = says("again", row) and _is_about_splices(context) and only
    other = _is_other(acts, context, len(text.tokens)) and not (again and acts[0].name == "report_rework")
    if last is None or asks(text) or says("not_a_report", row) or other:
        return None
    kind, numbers = first("kind.", row), plain_numbers(text)
    other_noun = says("other_matter", row) or not (numbers and says("more", row))
    if acts and acts[0].name in ("report_iron", "report_sample") and not again and not kind and other_noun:
        return None  # "traje otra plancha"
    reported = bool(acts) and acts[0].name == "report_splices"
    more_of = says("more", row) and (numbers or kind or only or reported)
    if not (more_of or again or (kind and (_is_bare(row) or _is_placed(text)))) or len(numbers) > 1 or text.of("range"):
        return None
    facts: dict[str, Any] = {k: last.facts[k] for k in ("joint", "place", "iron", "profile") if last.facts.get(k)}
    one = says("one_more", row) or not again
    facts["count"] = numbers[0] if numbers else (1 if one else counted(last))
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
    return latest is not None and latest.name in (*REPORTS, "amend", "report_inspection")


def _says_more(text: Text, context: Context) -> bool:
    """ "raining again": other words than those of a report like the last."""
    shown = re.sub(r"<\w+>", " ", text.row()[0])
    kinds = [f"kind.{k}" for k in KINDS]
    shown = re.sub(
        rf"(?<!\w){any_of(['again', 'more', 'one_more', 'again_beside', 'same_people', *kinds])}(?!\w)", " ", shown
    )
    people = {w for name in context.gazetteer.people for w in fold(name).split()}
    return bool(set(re.findall(r"[a-z]+", fold(shown))) - people)


def _is_bare(row: str) -> bool:
    """ "n the tee", "1 corner"."""
    kinds = any_of(f"kind.{k}" for k in KINDS)
    return (
        re.match(r"\W*(n|and|y|plus)\b", row) is not None or re.fullmatch(rf"\W*\d{{1,2}} {kinds}\W*", row) is not None
    )


def _is_placed(text: Text) -> bool:
    """ "flat corner A", "the tee in pit 2": a kind and where."""
    kinds = any_of(f"kind.{k}" for k in KINDS)
    return (
        re.fullmatch(rf" (?:the |a |la |el |un |una )?{kinds} (?:at |in |en )?(?:<place>|[b-z]|a) ", text.row()[0])
        is not None
    )


def counted(act: Act) -> int:
    return int(act.facts.get("count") or len(numbers_of(act)) or 1)


def _named_anew(text: Text, kind: str | None) -> dict[str, Any]:
    """What the follow-up itself names takes the place of what was taken over."""
    marks = {name: text.of(mark) for name, mark in (("iron", "iron"), ("place", "place"), ("temp_f", "temp"))}
    facts: dict[str, Any] = {name: found[0].value for name, found in marks.items() if found}
    return facts | ({"joint": kind} if kind else {})
