"""The roster changed by chat: who joins, leaves, gets another number, is erased. A new address must answer first.

Who may change whom stands here once: nobody gets an inspector's word by handing out his number.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import AddressAsked, Entry, PersonErased, PersonJoined, PersonLeft
from sitebot.message import Language, Person, Say, Term
from sitebot.numbers import e164
from sitebot.respond.desk import Answer, Desk, Notice
from sitebot.respond.people import notice

#: How long a new address may take to answer.
ANSWERS_WITHIN = timedelta(hours=24)
ROLES = ("crew", "lead", "inspector", "superintendent")
#: Who may put somebody on or off the list in a role, or change his number.
MAY: Mapping[str, tuple[str, ...]] = {
    "crew": ("lead", "superintendent"),
    "lead": ("lead", "superintendent"),
    "inspector": ("superintendent",),
    "superintendent": ("superintendent",),
}
_ME = ("me", "myself", "i", "yo", "mi")


def answer(act: Act, desk: Desk) -> Answer | None:
    """What a change of the roster comes to; None where the act is about a day's crew only."""
    facts = act.facts
    if facts.get("erase"):
        return _erase(str(facts["erase"]), desk)
    if isinstance(facts.get("address"), Mapping):
        return _address(facts["address"], desk)
    if facts.get("leave"):
        return _leave(str(facts["leave"][0] if isinstance(facts["leave"], list | tuple) else facts["leave"]), desk)
    joining = [j for j in facts.get("join") or () if isinstance(j, Mapping) and j.get("name")]
    return _join(joining, desk) if joining else None


def _person(name: str, desk: Desk) -> Person | None:
    if name.casefold() in _ME:
        return desk.person
    known = desk.log.id_of(name)
    return next((p for p in desk.log.people() if p.id == known), None)


def _may(role: str, desk: Desk, person: Person | None = None) -> bool:
    """Own things anybody; a role is handed on only by who stands over it."""
    return desk.role in MAY.get(role or "crew", ()) or (person is not None and person.id == desk.me)


def _not_yours(role: str, what: Say, desk: Desk) -> Answer:
    """Passed on to who may; nothing changes."""
    whose = desk.with_role(*MAY.get(role or "crew", ()))
    tell = Say("people.wish", {"teller": desk.person.name if desk.person else "", "what": what})
    values = {"names": [p.name for p in whose]}
    key = "people.passed_on" if whose else "people.by_file"
    return Answer((Say(key, values),), "refuse", notices=notice(whose, desk, tell))


# --- joining --------------------------------------------------------------------------------------------------------


def _join(joining: Sequence[Mapping[str, Any]], desk: Desk) -> Answer:
    entries: list[Entry] = []
    says: list[Say] = []
    notices: tuple[Notice, ...] = ()
    fresh = desk.log.next_person()
    for told in joining:
        name = str(told["name"]).strip()[:60]
        role = str(told.get("role") or "crew")
        if role not in ROLES or not _may(role, desk):
            return _not_yours(role, Say("people.what_join", {"name": name, "role": Term(f"role.{role}")}), desk)
        address, wrong = _told_address(told, desk)
        if wrong:
            return wrong
        known = desk.log.id_of(name)
        was = _person(name, desk)
        if was and (not address or not _may(was.role, desk)):
            return Answer((Say("people.known", {"name": name, "role": Term(f"role.{was.role}")}),))
        if not was:
            ident = known or f"p{fresh}"
            fresh += not known
            language: Language = "es" if told.get("lang") == "es" else desk.site.language
            entries.append(PersonJoined(person=ident, role=role, language=language, name=name))
        else:
            ident, language = was.id, was.language
        says.append(Say("people.joined", {"name": name, "role": Term(f"role.{was.role if was else role}")}))
        if address:
            asked, more, letter = _asked(ident, name, address, language, desk)
            entries, says, notices = [*entries, asked], [*says, more], (*notices, letter)
        else:
            says.append(Say("people.no_number"))
    names = [str(j["name"]) for j in joining]
    return Answer(tuple(says), "record", entries=tuple(entries), notices=notices, facts={"names": names})


def _told_address(told: Mapping[str, Any], desk: Desk) -> tuple[str, Answer | None]:
    """The address in the form it is kept, '' where none was told; else what is wrong with it."""
    if told.get("matrix"):
        address: str | None = str(told["matrix"]).strip()
        address = address if address and address.startswith("@") and ":" in address else None
    elif told.get("phone"):
        address = e164(str(told["phone"]), desk.site.region)
    else:
        return "", None
    if address is None:
        say = Say("people.no_phone", {"text": str(told.get("phone") or told.get("matrix"))[:30]})
        return "", Answer((say,), "ask_back", asks=Unclear("people"))
    holder = next((p for p in desk.log.people() if address in p.addresses), None)
    if holder:
        return "", Answer((Say("people.taken", {"name": holder.name}),), "refuse")
    return address, None


def _asked(ident: str, name: str, address: str, language: Language, desk: Desk) -> tuple[AddressAsked, Say, Notice]:
    """The entry, what the sender hears, and the question to the new address."""
    until = desk.said_at + ANSWERS_WITHIN
    entry = AddressAsked(person=ident, until=until.isoformat(), address=address)
    values = {"by": desk.person.name if desk.person else "", "name": name, "site": desk.site.name}
    letter = Notice((), (Say("people.confirm", values),), address=address, language=language)
    return entry, Say("people.asked", {"end": address[-4:] if address[:1] == "+" else address}), letter


# --- another address, leaving, erasing ------------------------------------------------------------------------------


def _address(told: Mapping[str, Any], desk: Desk) -> Answer:
    person = _person(str(told.get("name") or "me"), desk)
    if person is None:
        return Answer((Say("roster.unknown_name", {"name": told.get("name")}),), "ask_back", asks=Unclear("people"))
    if not _may(person.role, desk, person):
        return _not_yours(person.role, Say("people.what_address", {"name": person.name}), desk)
    address, wrong = _told_address(told, desk)
    if wrong or not address:
        return wrong or Answer((Say("people.which_number"),), "ask_back", asks=Unclear("people"))
    entry, says, letter = _asked(person.id, person.name, address, person.language, desk)
    old = notice((person,), desk, Say("people.old_told", {"by": desk.person.name if desk.person else ""}))
    return Answer((says,), "record", entries=(entry,), notices=(letter, *old), facts={"address": person.id})


def _leave(name: str, desk: Desk) -> Answer:
    person = _person(name, desk)
    if person is None:
        return Answer((Say("roster.unknown_name", {"name": name}),), "ask_back", asks=Unclear("people"))
    if desk.role not in MAY[person.role]:
        return _not_yours(person.role, Say("people.what_leave", {"name": person.name}), desk)
    if _is_last_lead(person, desk):
        return Answer((Say("people.last_lead"),), "refuse")
    return Answer((Say("people.left", {"name": person.name}),), "record", entries=(PersonLeft(person=person.id),))


def _erase(name: str, desk: Desk) -> Answer:
    """Erased are name, numbers and texts; what he did stays under his id, and the chain stays whole."""
    person = _person(name, desk)
    ident = person.id if person else desk.log.id_of(name)
    if not ident:
        return Answer((Say("roster.unknown_name", {"name": name}),), "ask_back", asks=Unclear("people"))
    role = person.role if person else "crew"
    if desk.role not in MAY[role]:
        called = person.name if person else name
        return _not_yours(role, Say("people.what_erase", {"name": called}), desk)
    if person and _is_last_lead(person, desk):
        return Answer((Say("people.last_lead"),), "refuse")
    # By the id alone: the reply and the talk are written after the name is gone.
    return Answer(
        (Say("people.erased", {"id": ident}),),
        "record",
        entries=(PersonErased(person=ident),),
        facts={"erase": ident},
    )


def _is_last_lead(person: Person, desk: Desk) -> bool:
    return person.role == "lead" and len(desk.with_role("lead")) == 1
