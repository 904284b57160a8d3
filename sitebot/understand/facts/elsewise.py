"""Numbers that count something which is no splice, or are set aside; which words say so is data."""

from __future__ import annotations

from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.marks import Mark, Text


def is_elsewise(text: Text, mark: Mark) -> bool:
    """The number counts people, tries, cuts ... or is set aside ("not 75", "8 of 20")."""
    head, tail = before(text, mark.start), after(text, mark.end)
    aside = words.ends("set_aside_before", head) or words.begins("set_aside_after", tail)
    return aside or counts_else(text, mark) or words.ends("before_else", head)


def counts_else(text: Text, mark: Mark) -> bool:
    """A noun behind the number says that it counts no splices."""
    return words.begins("counts_else", after(text, mark.end))
