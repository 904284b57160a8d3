"""A text cut to what a phone should get at once; the rest is offered with "more"."""

from __future__ import annotations

import re

#: Three concatenated GSM-7 parts of 153.
MOST_CHARACTERS = 459
_MORE = {"en": " (text MORE)", "es": " (mande MAS)"}


def fit(text: str, language: str, most: int = MOST_CHARACTERS) -> tuple[str, str]:
    """The beginning that fits, cut between sentences where it can, and the rest."""
    if len(text) <= most:
        return text, ""
    room = most - len(_MORE[language])
    ends = [m.end() for m in re.finditer(r"[.;!?] ", text[:room])] or [text.rfind(" ", 0, room) + 1]
    at = ends[-1] if ends[-1] > room // 3 else room
    return text[:at].rstrip() + _MORE[language], text[at:].lstrip()
