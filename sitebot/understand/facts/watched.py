"""Who watched a sample weld: a name or a role beside a word for it. Who watched did not weld."""

from __future__ import annotations

import re
from collections.abc import Iterable

from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

#: Who may be named by what he is, as respond/irons.py knows them.
ROLES = ("inspector", "lead", "me")


def witnesses(text: Text, named: Iterable[str], context: Context) -> list[str]:
    """Names and roles, in the order said; ``named``: names the text is already known to hold."""
    said = f" {' '.join(fold(t.raw) for t in text.tokens)} "
    people = {fold(name): name for name in (*context.gazetteer.people, *named) if fold(name) != "me"}
    people |= {fold(name).split()[0]: name for name in context.gazetteer.people}
    patterns = [(re.escape(name), shown) for name, shown in people.items()]
    patterns += [(words.any_of(f"role_{role}"), role) for role in ROLES]
    found = [(hit.start(), shown) for who, shown in patterns if (hit := _watching(who).search(said))]
    return list(dict.fromkeys(shown for _, shown in sorted(found)))


def _watching(who: str) -> re.Pattern[str]:
    before, after = words.any_of("watched_by"), words.any_of("watched")
    return re.compile(rf" (?:{before} (?:the |el |la |al )?{who}|{who} {after}) ")
