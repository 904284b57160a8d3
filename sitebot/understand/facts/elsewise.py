"""Numbers that count something which is no splice, or are set aside; which words say so is data."""

from __future__ import annotations

import re

from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.marks import Mark, Text


def is_elsewise(text: Text, mark: Mark) -> bool:
    """The number counts people, tries, cuts ... or is set aside ("not 75", "8 of 20")."""
    head, tail = before(text, mark.start), after(text, mark.end)
    aside = words.ends("set_aside_before", head) or words.begins("set_aside_after", tail)
    aside = aside or words.begins("never_got", tail) or is_left(head)
    return (
        aside
        or counts_else(text, mark)
        or words.ends("before_else", head)
        or words.ends("of_part", head)
        or words.ends("cut_into", head)
    )


def is_left(head: str) -> bool:
    """ "Skipped: 7", "to go 2" on a line of its own: the word that heads the number says that it is not made."""
    said = re.split(r"[\n.;,|]", head)[-1].strip(" :-=")
    return words.is_only("left_key", f" {said} ")


def counts_else(text: Text, mark: Mark) -> bool:
    """A noun behind the number says that it counts no splices."""
    return words.begins("counts_else", after(text, mark.end))
