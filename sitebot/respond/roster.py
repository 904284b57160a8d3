"""People: who is on the roster and on today's crew, languages, strangers, who wants no texts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from sitebot.acts import Act, Unclear
from sitebot.entries import CrewSet, DayWished, Entry, LanguageChosen, NameTaught, PersonJoined, TextsStopped
from sitebot.message import Person, Say
from sitebot.respond import membership
from sitebot.respond.dates import date_of
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.people import ids_of, names_of, notice

MOVERS = ("lead", "superintendent", "inspector")


def stranger(act: Act, desk: Desk) -> Answer | None:
    """What a number that is not on the roster gets; None: it may be answered like anybody (first aid, an opt-out)."""
    if act.name in ("ask_safety", "opt_out", "opt_in"):
        return None
    if act.name == "off_topic":
        return Answer(outcome="ignore")
    return refused(desk)


def refused(desk: Desk) -> Answer:
    """Who is not on the roster gets no record and no job data."""
    return Answer((Say("roster.stranger", {"emergency": desk.site.emergency_number}),), "refuse")


def crew_today(desk: Desk, day: str) -> tuple[str, ...]:
    """The people of a day: as set by chat, else every lead and crew member of the roster."""
    named = desk.log.crew(day)
    return named if named is not None else tuple(p.id for p in desk.with_role("lead", "crew"))


def ask(act: Act, desk: Desk) -> Answer:
    today = date.fromisoformat(desk.day)
    day = date_of(act.facts.get("date"), today) or today
    if act.facts.get("unreached"):
        return _unreached(desk)
    if act.facts.get("role"):
        people = desk.with_role(str(act.facts["role"]))
        return Answer((Say("roster.role", {"names": [p.name for p in people]}),))
    names = names_of(crew_today(desk, day.isoformat()), desk)
    return Answer((Say("roster.crew" if names else "roster.nobody", {"names": names, "date": day}),))


def _unreached(desk: Desk) -> Answer:
    """Who on the roster cannot be texted, and why."""
    why = {**dict.fromkeys(desk.log.stopped(), "stopped"), **desk.log.unreached()}
    why |= {p.id: "no_address" for p in desk.log.people() if not p.addresses}
    lines = [Say(f"reach.{why[p.id]}", {"name": p.name}) for p in desk.log.people() if p.id in why]
    return Answer((Say("reach.some", {"lines": lines}) if lines else Say("reach.all"),))


def set_crew(act: Act, desk: Desk) -> Answer:
    """Who works: for that date; a name not known yet joins the roster without a number."""
    facts = act.facts
    if changed := membership.answer(act, desk):
        return changed
    today = date.fromisoformat(desk.day)
    day = (date_of(facts.get("date"), today) or today).isoformat()
    who, add, lead = (_names(facts.get(k)) for k in ("who", "add", "lead"))
    who = who or _names(facts.get("crew"))
    ids, joined = ids_of([*who, *add, *lead], desk)
    gone = {i for name in _names(facts.get("remove")) if (i := desk.log.id_of(name))}
    if not (ids or gone or facts.get("remove")):
        return Answer((Say("roster.who"),), "ask_back", asks=Unclear("people"))
    base = () if who else crew_today(desk, day)
    people = [i for i in dict.fromkeys((*base, *ids)) if i not in gone]
    fresh = {e.person: e.name for e in joined if isinstance(e, PersonJoined)}
    values = {
        "names": [fresh.get(i) or desk.log.name_of(i) for i in people],
        "date": None if day == desk.day else date.fromisoformat(day),
        "teller": desk.person.name if desk.person else "",
    }
    if desk.role not in MOVERS:
        return Answer(
            (Say("roster.passed_on", {"names": [p.name for p in desk.with_role("lead")]}),),
            "record",
            entries=(*joined, DayWished(date=day, change={"crew": people})),
            notices=notice(desk.with_role("lead"), desk, Say("roster.crew_wish", values)),
        )
    makes_lead = bool(lead) or facts.get("role") == "lead"
    roles = _roles(joined, ids if makes_lead else (), desk)
    return Answer((Say("roster.crew_set", values),), "record", entries=(*roles, CrewSet(day=day, people=tuple(people))))


def _names(value: object) -> list[str]:
    if isinstance(value, str):
        return [value]
    return [str(v) for v in value] if isinstance(value, list | tuple) else []


def _roles(joined: Sequence[Entry], leads: Sequence[str], desk: Desk) -> tuple[Entry, ...]:
    """New names join as crew; "leads" makes a lead of whom it names."""
    role = "lead" if leads else "crew"
    known = [p for p in desk.log.people() if p.id in leads and p.role == "crew"]
    return (
        *(replace(e, role=role) for e in joined if isinstance(e, PersonJoined)),
        *(_as(p, "lead") for p in known),
    )


def _as(person: Person, role: str) -> PersonJoined:
    return PersonJoined(
        person=person.id, role=role, language=person.language, name=person.name, addresses=person.addresses
    )


def language(act: Act, desk: Desk) -> Answer:
    """Answer in another language from now on, the sender or somebody he names."""
    wanted = str(act.facts.get("lang") or act.facts.get("language") or "")[:2]
    if wanted not in ("en", "es"):
        return Answer((Say("roster.languages"),))
    who = act.facts.get("who")
    person = desk.log.id_of(str(who)) if who and str(who) != "me" else desk.me
    if person is None:
        return Answer((Say("roster.unknown_name", {"name": who}),), "ask_back")
    return Answer(
        (Say(f"roster.language_{wanted}"),), "record", entries=(LanguageChosen(person=person, language=wanted),)
    )


def opt_out(act: Act, desk: Desk) -> Answer:
    """One confirmation, then silence; the lead hears who cannot be reached by text."""
    entries = (TextsStopped(person=desk.me),) if desk.me else ()
    if desk.person is None:
        # A stranger gets no reminders: nobody has to take them over.
        return Answer((Say("roster.stopped_stranger"),), "record")
    tell = Say("roster.stopped_told", {"name": desk.person.name})
    return Answer(
        (Say("roster.stopped"),), "record", entries=entries, notices=notice(desk.with_role("lead"), desk, tell)
    )


def opt_in(act: Act, desk: Desk) -> Answer:
    entries = (TextsStopped(person=desk.me, stopped=False),) if desk.me else ()
    return Answer((Say("roster.started"),), "record", entries=entries)


def teach(act: Act, desk: Desk) -> Answer:
    """Keep what the crew calls a place or an iron."""
    said, meant = str(act.facts.get("said") or ""), str(act.facts.get("meant") or "")
    if not said or not meant:
        return Answer((Say("roster.teach_what"),), "ask_back")
    return Answer(
        (Say("roster.taught", {"said": said, "meant": meant}),),
        "record",
        entries=(NameTaught(said=said[:80], meant=meant[:80]),),
    )
