"""Places as people name them against the plan, and kinds of splices where a place decides them."""

from __future__ import annotations

import re

from sitebot.respond.dates import fold
from sitebot.respond.desk import Desk


def place_of(said: str | None, desk: Desk) -> str | None:
    """The place of the plan or the log that ``said`` means, else ``said`` as it is."""
    if not said:
        return None
    known = [p.name for p in desk.log.plan()] or []
    known += [p for p in desk.log.places_used() if p not in known]
    text = fold(said)
    nicknames = {fold(k): v for k, v in desk.log.nicknames().items()}
    if text in nicknames:
        return nicknames[text]
    by_fold = {fold(p): p for p in known}
    if text in by_fold:
        return by_fold[text]
    short = [p for f, p in by_fold.items() if _short(text) in (_short(f), _tail(f)) or _short(f) == _tail(text)]
    return short[0] if len(set(short)) == 1 else said.strip()[:80]


def _short(text: str) -> str:
    return text.replace(" ", "")


def _tail(text: str) -> str:
    """The mark at the end of a name: "wall b3" -> "b3", "pour 12" -> "p12"."""
    words = text.split()
    if len(words) > 1 and re.fullmatch(r"\d+", words[-1]):
        return words[0][0] + words[-1]
    return words[-1] if words else ""


def kind_at(joint: str | None, place: str | None, desk: Desk) -> str:
    """The kind of splice; a plain "corner" is flat or edge where the plan knows only one of them."""
    if joint not in ("corner", "turn"):
        return joint or "unknown"
    plans = [p.kinds for p in desk.log.plan() if place is None or p.name == place]
    corners = {k for kinds in plans for k in kinds if k in ("flat_corner", "edge_corner")}
    return corners.pop() if len(corners) == 1 else "corner"
