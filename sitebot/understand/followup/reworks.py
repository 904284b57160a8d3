"""Redos and the number they got: "4 redone, its 5", "14 is the redo of 13", "8 cut out, new corner welded, 16".

Only what is told as done; which number is the old weld follows from the log, and what stays open is left to the reader.
"""

from __future__ import annotations

import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.facts import words as small
from sitebot.understand.facts.elsewise import is_elsewise
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.work import add_common
from sitebot.understand.followup.words import either, says
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_planned, is_question, is_supposed

#: What may stand between the words and the number.
_SIGN = r"(?: (?:#|no|number|splice|la|el|the|empalme))*"
#: Nobody skips more numbers than this.
FAR = 20


def remade(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """A redo told with the number of its new weld; None where a number has no plain part in it."""
    if not context.highest or not _is_told(text, row, context):
        return None
    olds, news = _sorted(text, row, context)
    known = [n for n in olds if n <= context.highest]
    if olds != known or any(n > context.highest + FAR for n in news):
        return None
    if not news and not says("redo_done", row):
        return None
    if not known:
        known = list(context.rejected) if len(context.rejected) == 1 else []
    if news and len(known) > 1 and len(news) != len(known):
        return None
    facts: dict[str, Any] = {"done": True}
    if known:
        facts["numbers"] = known
    if news:
        facts["new_numbers"] = news
    add_common(facts, text, context)
    facts.pop("place", None)
    return [Act("report_rework", facts)] if news or known else None


def _is_told(text: Text, row: str, context: Context) -> bool:
    """Told as done: neither asked, planned nor supposed, and no verdict."""
    again = says("redo", row)
    cut = says("redo_cut", row) and not says("redo_not_yet", row)
    if not (again or cut) or is_question(text) or is_supposed(text):
        return False
    open_still = is_planned(text) or says("redo_not_yet", row) or small.says("still_open", f" {row} ")
    return not open_still and not (context.judges and says("verdict_word", row))


def _sorted(text: Text, row: str, context: Context) -> tuple[list[int], list[int]]:
    """The old welds and the new ones: by the words beside them, else by what the log holds."""
    olds: list[int] = []
    news: list[int] = []
    counted = {k.count_at for k in named_kinds(text) if k.plural}
    for mark in text.of("n", "range"):
        if mark.start in counted or is_elsewise(text, mark):
            continue
        head = " ".join(text.word(i) for i in range(max(0, mark.start - 6), mark.start))
        values = mark.value if isinstance(mark.value, list) else [mark.value]
        if re.search(rf"(?<!\w){either('redo_of')}{_SIGN}$", head):
            olds += values
        elif olds and re.search(rf"(?<!\w){either('named_as')}{_SIGN}$", head):
            news += values
        else:
            _by_log(values, olds, news, context)
    olds = list(dict.fromkeys(olds))
    return olds, [n for n in dict.fromkeys(news) if n not in olds]


def _by_log(values: list[int], olds: list[int], news: list[int], context: Context) -> None:
    for number in values:
        (news if number > context.highest else olds).append(number)


def numbered(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "done, its 3" while one rejected splice waits for its redo: that redo and its number."""
    hit = re.match(rf"\W*(?:{either('done')}\W+)?{either('named_as')}{_SIGN} (\d+)\W*$", row)
    if hit is None or len(context.rejected) != 1 or is_question(text) or context.judges:
        return None
    if not context.highest < int(hit[1]) <= context.highest + FAR:
        return None
    return [Act("report_rework", {"done": True, "numbers": list(context.rejected), "new_numbers": [int(hit[1])]})]
