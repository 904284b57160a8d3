"""How irons are named in what is said: the iron, iron 1, irons 1 and 2. Knows nothing of what happened to them."""

from __future__ import annotations

from collections.abc import Sequence

from sitebot.message import Say

#: What people call every iron at once.
ALL = ("all", "both", "ambas", "todas")


def irons_said(irons: Sequence[str]) -> Say:
    """One noun for a sentence, so that no phrase says "iron 1 and 2"."""
    return Say(("irons.the", "irons.one", "irons.many")[min(len(irons), 2)], {"irons": list(irons)})
