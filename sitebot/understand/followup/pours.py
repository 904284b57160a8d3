"""A place and a question mark, from somebody who asks about pours."""

from __future__ import annotations

import re

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks, last
from sitebot.understand.followup.words import any_of
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold


def follow(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """ "ok b3 now?"."""
    places = [str(m.value) for m in text.of("place")]
    pours = last(context, "ask_pour") is not None or context.role == "superintendent"
    if len(places) != 1 or not asks(text) or not pours:
        return None
    rest = re.sub(rf"(?<!\w){any_of(['pour_small'])}(?!\w)|[^a-z ]", " ", fold(row))
    words = set(rest.split()) - set(fold(places[0]).split()) - {"b", "n"}
    return None if words else [Act("ask_pour", {"place": places[0]})]
