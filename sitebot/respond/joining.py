"""The answer of a new address: only it can say that it is the right one. Any other text of it is a stranger's."""

from __future__ import annotations

import re
from dataclasses import replace

from sitebot.entries import AddressConfirmed, AddressRefused
from sitebot.message import Say
from sitebot.respond.dates import fold
from sitebot.respond.desk import Answer, Desk, Notice
from sitebot.respond.people import notice
from sitebot.rulebook.word_lists import word_lists


def takes(text: str, desk: Desk) -> tuple[Answer, str] | None:
    """What a yes or no of an address that was asked comes to, and whose it is; None for any other message."""
    asked = desk.log.asked_address(desk.address) if desk.person is None and desk.address else None
    if asked is None:
        return None
    person, until = asked
    said = re.sub(r"[^a-z0-9 ]+", "", fold(text)).strip()
    if said in _words("no"):
        tell = Say("people.refused_told", {"name": desk.log.name_of(person)})
        told = notice(desk.with_role("lead"), desk, tell)
        refused = AddressRefused(person=person, address=desk.address)
        return Answer((Say("people.refused"),), "record", entries=(refused,), notices=told), person
    if said not in _words("yes"):
        return None
    if desk.said_at > until:
        return Answer((Say("people.too_late"),), "refuse"), person
    return _confirmed(person, desk), person


def _confirmed(person: str, desk: Desk) -> Answer:
    """It counts from now on, in the language of the person."""
    who = next(p for p in desk.log.people() if p.id == person)
    welcome = Say("people.welcome", {"name": who.name, "site": desk.site.name})
    letter = Notice((), (welcome,), address=desk.address, language=who.language)
    told = notice(desk.with_role("lead"), desk, Say("people.confirmed_told", {"name": who.name}))
    told = tuple(replace(n, to=tuple(p for p in n.to if p != person)) for n in told)
    entry = AddressConfirmed(person=person, address=desk.address)
    return Answer(outcome="record", entries=(entry,), notices=(letter, *(n for n in told if n.to)))


def _words(key: str) -> tuple[str, ...]:
    """Of both languages: nobody knows yet which one he answers in."""
    return word_lists("joining")[key]
