"""Plain cases of a verdict: from who may give it, on splices that are named, or passed on from him.

Each says only that it is one; the verdict itself is told in facts/inspections.py.
"""

from __future__ import annotations

import re

from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.verdicts import weighed
from sitebot.understand.marks import Text
from sitebot.understand.setting_right import NOT_THAT, TAKEN_BACK, is_again


def inspector(text: Text, context: Context, row: str) -> bool:
    keys = {k for _, k in weighed(row)}
    # With a log before him who judges speaks of its splices: a plain "good" or "no" is his verdict.
    said = bool(keys & ({"accept", "reject", "fine", "poor"} if context.highest else {"accept", "reject"}))
    said = said or bool(context.highest and _NO.search(row))
    strong = bool(keys & {"accept", "reject"}) and bool(text.has("last_one") or text.of("place"))
    strong = strong or (said and text.has("all_of") and bool(text.of("place")))
    return context.judges and said and (strong or bool(splice_rows(text))) and not NOT_THAT.search(row)


#: "4 no, its charred": what stands right behind the number is the verdict, "4 has a spot not fused" is a finding.
_NO = re.compile(r"<(n|range)> ,? ?(is |are |s )?(a )?(no|nope|nah|out) ([,.;:]|it|its|hay|esta|trae|tiene|$)")


def judged(text: Text, context: Context, row: str) -> bool:
    """The same with a log: known numbers and a verdict from who may give it are hardly anything else."""
    known = [n for r in splice_rows(text) for n in r.numbers]
    return inspector(text, context, row) and bool(context.highest) and all(n <= context.highest for n in known)


def both(text: Text, context: Context, row: str) -> bool:
    """ "13 is accepted, 14 opened, 14 reject": known splices, each with a verdict in so many words."""
    keys = {k for _, k in weighed(row)}
    known = {n for r in splice_rows(text) for n in r.numbers}
    return context.judges and {"accept", "reject"} <= keys and len(known) > 1 and max(known) <= context.highest


def withdrawn(text: Text, context: Context, row: str) -> bool:
    """ "take back 13, it opened. reject": the new verdict stands in it."""
    keys = {k for _, k in weighed(row)}
    return context.judges and bool(keys & {"accept", "reject"}) and bool(TAKEN_BACK.search(row))


_ORDERED = re.compile(
    r" (reject|fail|accept|pass) (it|that|this|them|em|that one|this one|both|all of them) "
    r"| (rechace|rechaza|acepte|acepta|apruebe|aprueba)(la|lo|las|los|me la|me lo) "
)


def ordered(text: Text, context: Context, row: str) -> bool:
    """ "reject it": said by who judges, it is the verdict."""
    return context.judges and bool(_ORDERED.search(row))


def passed_on(text: Text, context: Context, row: str) -> bool:
    keys = {k for _, k in weighed(row)}
    return (
        context.role != "inspector"
        and is_relayed(text, context)
        and bool(keys & {"accept", "reject", "poor", "fine", "not"})
        and bool(splice_rows(text))
        and not is_again(text, row)
    )


def claimed(text: Text, context: Context, row: str) -> bool:
    """ "mark 63 accepted, I looked at it": a verdict that its sender may not give."""
    keys = {k for _, k in weighed(row)}
    own = text.has("self") or text.has("mark_as") or words.says("answers_for_it", row)
    return not context.judges and own and "accept" in keys and bool(splice_rows(text)) and not NOT_THAT.search(row)
