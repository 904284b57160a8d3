"""Opening a log to report from it: the desk of nobody in particular, at one moment. Writes nothing."""

from __future__ import annotations

from functools import cache

from sitebot.journal import Turn
from sitebot.respond.desk import Desk
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import Site


@cache
def rules() -> Rulebook:
    """The rules that came along; the heat band stands in them."""
    return Rulebook.load(rules_folder())


def desk_of(turn: Turn) -> Desk:
    """What reports look at: the site as last loaded, its log, now."""
    site = Site.model_validate(turn.log.settings() or {"name": turn.site})
    now = turn.now.astimezone(site.tz)
    return Desk(now, now, None, site, turn.log, rules())
