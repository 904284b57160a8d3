"""What must stand in a text before an act may be read from it, whatever the model's score.

One line an act; a report without its own words is no report.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from sitebot.understand.context import Context
from sitebot.understand.facts.days import may_pour
from sitebot.understand.facts.kinds import named_kinds
from sitebot.understand.facts.renewed import is_replacing
from sitebot.understand.facts.unmade import is_to_come
from sitebot.understand.marks import Text
from sitebot.understand.setting_right import sets_right

Guard = Callable[[Text, Context], bool]


def _any(*keys: str) -> Guard:
    return lambda text, context: any(text.has(key) for key in keys)


def _amend(text: Text, context: Context) -> bool:
    return any(text.has(key) for key in ("fix", "void", "verb.fix", "verb.void")) or sets_right(text)


def _splices(text: Text, context: Context) -> bool:
    if is_to_come(text):
        return False
    row = text.row()[0]
    told = (
        text.has("made")
        or text.has("verb.made")
        or text.has("log_it")
        or text.has("verb.log_it")
        or text.has("splice_noun")
        or bool(named_kinds(text))
        or text.has("more")
    )
    if _never_made(text):
        return False
    return told and not (row.rstrip().endswith("?") and text.has("question_start") and not text.has("log_it"))


def _never_made(text: Text) -> bool:
    """ "never made 31", "none welded": every word for making is denied."""
    hits = [start for start, _ in text.find("made")]
    return bool(hits) and all(text.word(at - 1) in _DENIED for at in hits)


_DENIED = {"never", "not", "none", "nunca", "tampoco"}


def _iron(text: Text, context: Context) -> bool:
    return (
        bool(text.of("iron", "temp"))
        or text.has("iron_noun")
        or text.has("cover_noun")
        or any(text.has(f"event.{e}") for e in ("plugged_in", "unplugged", "hot", "fault"))
    )


def _verdict(text: Text, context: Context) -> bool:
    row = text.row()[0]
    return not (re.search(r" \? $", row) and not text.of("n", "range"))


def _rework(text: Text, context: Context) -> bool:
    return is_replacing(text) or any(text.has(key) for key in _REWORK)


_REWORK = ("rework", "rework_not_done", "verb.rework", "verb.rework_not_done")


GUARDS: dict[str, Guard] = {
    "amend": _amend,
    "report_splices": _splices,
    "report_iron": _iron,
    "report_inspection": _verdict,
    "report_sample": _any("sample"),
    "report_rework": _rework,
    "report_damage": _any("damage", "verb.damage"),
    "release_pour": lambda text, context: _any("release", "verb.release")(text, context) or may_pour(text, context),
    "language": _any("language_word"),
    "opt_out": _any("stop_word"),
}


def allowed(act: str, text: Text, context: Context) -> bool:
    """Whether an act may be read from the text."""
    guard = GUARDS.get(act)
    return guard is None or guard(text, context)
