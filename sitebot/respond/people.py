"""Names in a text to ids of the roster, and ids to names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sitebot.entries import Entry, PersonJoined
from sitebot.message import Person, Say
from sitebot.respond.desk import Desk, Notice

_ME = {"me", "i", "yo", "myself", "mi"}


def ids_of(names: Iterable[str], desk: Desk) -> tuple[tuple[str, ...], tuple[Entry, ...]]:
    """Ids of the people named, and the entries that make those known who were not."""
    ids: list[str] = []
    entries: list[Entry] = []
    fresh = desk.log.next_person()
    for name in names:
        known = desk.me if name.casefold() in _ME else desk.log.id_of(name)
        if not known:
            known = f"p{fresh}"
            fresh += 1
            entries.append(PersonJoined(person=known, role="", name=name.strip()[:60]))
        ids.append(known)
    return tuple(dict.fromkeys(ids)), tuple(entries)


def names_of(ids: Iterable[str], desk: Desk) -> list[str]:
    return [desk.log.name_of(i) for i in ids]


def notice(people: Sequence[Person], desk: Desk, *says: Say) -> tuple[Notice, ...]:
    """Tell these people, the sender himself excepted."""
    to = tuple(p.id for p in people if p.id != desk.me)
    return (Notice(to, says),) if to else ()
