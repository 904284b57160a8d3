# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Further matters in one message: "3 butts on wall 7, and iron 1 is unplugged now".

A clause that carries its own strict cue is read by itself; what is left is the chief matter.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from sitebot.understand.clauses import clauses, is_joint, part, sentences
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.elsewise import is_elsewise
from sitebot.understand.facts.iron_events import iron_event
from sitebot.understand.facts.judged import is_relayed, splice_rows
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.tested import is_told
from sitebot.understand.facts.verdicts import verdict_of, weighed
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_planned, is_question
from sitebot.understand.people import welders
from sitebot.understand.setting_right import sets_right

Cue = Callable[[Text, Context], bool]


def _iron(text: Text, context: Context) -> bool:
    row = text.row()[0]
    named = (
        text.of("iron")
        or text.has("iron_noun")
        or text.has("cover_noun")
        or re.search(r" (everything|breaker|cord|la <n>) ", row)
    )
    event = iron_event(text)
    plain = event == "unplugged" and re.search(r" (unplug\w*|desconect\w*|desenchuf\w*|shut down) ", row)
    if re.search(r" (nobody|todavia no|aun no|before) ", row):
        return False
    if text.has("made") and (
        named_kinds(text) or re.search(r" <n> (more )?(made|done|welded|in|butts|splices|empalmes) ", row)
    ):
        return False
    return bool(
        (event in {"unplugged", "fault", "cover_changed", "plugged_in"} and (named or plain))
        or (event == "hot" and text.of("iron") and not text.has("sample"))
    )


def _rework(text: Text, context: Context) -> bool:
    told = words.says("again_told", text.row()[0]) and context.role != "inspector"
    return told and bool(splice_rows(text)) and not is_question(text)


def _void(text: Text, context: Context) -> bool:
    return bool(re.search(r" (void|delete|scratch|borra|anula|quita|strike) ", text.row()[0])) and bool(
        splice_rows(text)
    )


def _verdict(text: Text, context: Context) -> bool:
    said = text.row()[0]
    return (
        context.role != "inspector"
        and is_relayed(text, context)
        and bool(verdict_of(said))
        and bool(splice_rows(text))
        and not said.rstrip().endswith("?")
    )


def _sample(text: Text, context: Context) -> bool:
    row = text.row()[0]
    return (
        text.has("sample")
        and is_told(row)
        and not (context.judges and splice_rows(text))
        and not row.rstrip().endswith("?")
        and not re.search(r" (scrap one|not counting|counted the sample) ", row)
    )


def _damage(text: Text, context: Context) -> bool:
    return (
        text.has("damage")
        and bool(splice_rows(text) or text.of("place"))
        and not text.has("cover_noun")
        and not text.has("rework")
    )


def _tally(text: Text, context: Context) -> bool:
    row = text.row()[0]
    return bool(
        re.match(
            r" (what is that put us|how many|cuantos|cuantas|cuales|what does that make|que total|cuanto llevamos)", row
        )
    )


def _pour(text: Text, context: Context) -> bool:
    return text.has("pour") and bool(
        re.search(r" (can we|ya le podemos|se puede|podemos|ok to|ready to|clear to|good to) ", text.row()[0])
    )


def _day(text: Text, context: Context) -> bool:
    row = text.row()[0]
    return (
        bool(text.of("date") or re.search(r" (tomorrow|manana) ", row))
        and bool(
            re.search(
                r" (start|rolling|entra|llega|arranca\w*|entran|for us|be set up|back at|set up by|they start|empezamos) ",
                row,
            )
        )
        and bool(text.of("time", "n"))
    )


def _left(text: Text, context: Context) -> bool:
    row = text.row()[0]
    return len(text.of("n", "range")) == 1 and bool(
        re.search(
            r" (<n> (more )?(to go|left|to weld|still to weld)|(remain|nos faltan|faltan|le faltan|the other|los otros|should have the other) <n>|<n> .*still to weld) ",
            row,
        )
    )


def _pour_plan(text: Text, context: Context) -> bool:
    return bool(text.of("date")) and bool(
        re.search(r" (getting poured|poured|cuelan|they pour|colamos|vacian|hormigonamos) ", text.row()[0])
    )


def _release(text: Text, context: Context) -> bool:
    return bool(
        re.search(
            r" (is released|liberado el colado|pour released|released for concrete|libero el colado) ", text.row()[0]
        )
    ) and bool(text.of("place"))


CUES: dict[str, Cue] = {
    "report_sample": _sample,
    "amend": _void,
    "report_inspection": _verdict,
    "report_rework": _rework,
    "report_damage": _damage,
    "report_iron": _iron,
    "ask_tally": _tally,
    "ask_pour": _pour,
    "plan_day": _day,
    "plan_pour": _pour_plan,
    "release_pour": _release,
    "plan_splices": _left,
}


def _corrects(text: Text, context: Context) -> bool:
    judged = {k for _, k in weighed(text.row()[0])} & {"accept", "reject"}
    return sets_right(text) and bool(splice_rows(text)) and not judged and not is_question(text)


#: "six sharp" alone is the hour of what stands beside it, no start of a day.
LEAST_OF_A_DAY = 2


def own(act: str, text: Text, context: Context) -> bool:
    """Whether what is left when a clause is taken out still has a matter of this act."""
    row = text.row()[0]
    if act == "report_splices":
        counted = any(not is_elsewise(text, m) for m in text.of("n", "range"))
        return bool(named_kinds(text) or counted) and (
            text.has("made") or text.has("log_it") or bool(named_kinds(text)) or text.has("splice_noun")
        )
    if act == "report_inspection":
        return bool(verdict_of(row)) and bool(splice_rows(text) or text.of("place"))
    if act == "amend":
        return text.has("fix") and bool(text.of("n", "temp", "iron", "place"))
    if act == "plan_day":
        named = bool(text.of("date")) or any(text.has(k) for k in ("no_work", "tomorrow"))
        named = named or (text.has("start") and not is_told(row))
        return named and len(text.tokens) > LEAST_OF_A_DAY
    if act == "ask_cut":
        return row.rstrip().endswith("?") or text.has("cut")
    if act == "set_crew":
        return text.has("crew_word") and bool(welders(text, context.gazetteer))
    if act == "plan_pour":
        return bool(text.of("place")) and text.has("pour")
    cue = CUES.get(act)
    return cue is not None and cue(text, context)


def further(text: Text, context: Context) -> list[tuple[str, int, int]]:
    """Clauses with a matter of their own: act, start, end. A text of one clause has none."""
    found: list[tuple[str, int, int]] = []
    whole = sentences(text)
    for start, end in _stretches(text):
        if (
            end - start < (2 if part(text, start, end).has("sample") else 3)
            or end - start >= len(text.tokens) - 1
            or any(s < end and start < e for _, s, e in found)
        ):
            continue
        piece = part(text, start, end)
        act = next((name for name, cue in CUES.items() if cue(piece, context)), "")
        if not act and (start, end) in whole and _corrects(piece, context):
            act = "amend"  # "19 was on iron 2 not 1. an we got 20 in too"
        while act and is_joint(text, end):
            end += 1
        # "Still to do 1 at A and 1 at B": what opens the text holds for all of it.
        if act and not (act == "report_splices" and is_planned(text) and not text.has("made")):
            found.append((act, start, end))
    return found


def _stretches(text: Text) -> list[tuple[int, int]]:
    """Whole sentences first, then their clauses."""
    whole = sentences(text)
    return (whole if len(whole) > 1 else []) + [c for c in clauses(text) if c not in whole]
