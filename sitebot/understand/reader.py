"""From a text and its context to a reading: marks, choice of act, facts, and what stays unclear."""

from __future__ import annotations

from sitebot.acts import Act, Reading
from sitebot.understand.choose import choose
from sitebot.understand.context import Context
from sitebot.understand.doubt import missing
from sitebot.understand.facts.fill import fill
from sitebot.understand.model import Linear, packed
from sitebot.understand.reading_marks import read_marks


def read(text: str, context: Context) -> Reading:
    """What a text means in its context."""
    return read_with(packed(), text, context)


def read_with(model: Linear, text: str, context: Context) -> Reading:
    """As ``read``, with a model handed in: the measurement trains its own."""
    marks = read_marks(text, context.gazetteer)
    choice = choose(marks, context, model)
    acts = fill(choice.act, marks, context) or [Act(choice.act)]
    unclear = missing(acts, marks, context)
    trace = (("act", f"{choice.act} ahead by {choice.margin:.2f} of {choice.ranked[1][0]}"),)
    return Reading(acts=() if unclear else tuple(acts), unclear=unclear, trace=trace)
