"""Numbers that count something which is no splice, or are set aside; which words say so is data."""

from __future__ import annotations

from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.marks import Mark, Text


def is_elsewise(text: Text, mark: Mark) -> bool:
    """The number counts people, tries, cuts ... or is set aside ("not 75", "8 of 20")."""
    head, tail = before(text, mark.start), after(text, mark.end)
    return (
        words.begins("counts_else", tail) or words.ends("before_else", head) or (words.begins("set_aside_after", tail))
    )
