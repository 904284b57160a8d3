"""Opening a log to report from it: the desk of nobody in particular, at one moment. Writes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import cache

from sitebot.journal import Journal, Turn
from sitebot.respond.desk import Desk
from sitebot.rulebook import Rulebook, rules_folder


@cache
def rules() -> Rulebook:
    """The rules that came along; the heat band stands in them."""
    return Rulebook.load(rules_folder())


@contextmanager
def read_from(journal: Journal, site: str, now: datetime) -> Iterator[tuple[Desk, tuple[int, str]]]:
    """The desk and the head of one state of a log. No lock is taken: messages are answered while a report is made."""
    with journal.reading() as tx:
        turn = Turn(tx, site, now, journal.key)
        yield desk_of(turn), turn.head()


def desk_of(turn: Turn) -> Desk:
    """What reports look at: the site as last loaded, its log, now."""
    site = turn.log.site()
    now = turn.now.astimezone(site.tz)
    return Desk(now, now, None, site, turn.log, rules())
