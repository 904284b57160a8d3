"""What stands under a photo and reports nothing: "sample, iron 1, cut open", "B3 before pour", "the cover".

Only where a photo came with the text or was asked about; a word more than what it shows is a report as ever.
"""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.asked import places_said
from sitebot.understand.followup.talk import asks
from sitebot.understand.followup.words import any_of, says
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

_OF = ("sample", "cover")


def told(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """The thing or the place that is named, and nothing but small words beside it."""
    choices = context.pending.choices if context.pending else ()
    if not (choices and choices[0] and choices[0][0].name == "report_photo") or asks(text):
        return None
    places = places_said(text, context)
    things = [of for of in _OF if says(f"photo.{of}", row)]
    shown = re.sub(r"<(?:iron|place)>", " ", text.row()[0])
    small = any_of(["caption_small", *(f"photo.{of}" for of in _OF)])
    left = set(re.findall(r"[a-z0-9<]+", re.sub(rf"(?<!\w){small}(?!\w)", " ", fold(shown))))
    left -= {w for p in places for w in fold(p).split()}
    if left or len(things) + len(places) == 0 or len(things) > 1 or len(places) > 1:
        return None
    shows = {"of": things[0]} if things else {"place": places.pop()}
    return [Act("report_photo", {**shows, "caption": True})]
