"""What would hurt somebody or spoil good work, announced or proposed: a leaning towards the warning.

What the danger is, is a fact of the act and not told here.
"""

from __future__ import annotations

from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.marks import Text

#: Dangers plain enough to outweigh the rest; working alone or a nail are told in reports as well.
_DANGERS = ("quench", "torch", "glue", "solvent", "lap", "no_gloves", "knife_miter", "bad_cord", "cut_good_splice")


def announced(text: Text, context: Context, row: str) -> bool:
    """What would hurt somebody or spoil good work, announced and not asked; damage done by others is no plan."""
    return (
        text.has("intent")
        and any(text.has(f"danger.{d}") for d in _DANGERS)
        and not text.has("others_work")
        and not text.has("sample")
    )


def proposed(text: Text, row: str) -> bool:
    """ "y si raspamos lo quemado y le echamos silicon": a danger proposed is a plan, also without a word of intent."""
    opens = words.begins("proposes", row.strip())
    return opens and any(text.has(f"danger.{d}") for d in _DANGERS) and not text.has("sample")
