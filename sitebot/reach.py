"""Whom texts do not reach: taken over from what the SMS channel knows of its numbers, as entries, told to the lead.

Entries, so that reminders stay a function of the log. The channel counts what did not arrive; nothing is counted here.
"""

from __future__ import annotations

from collections.abc import Container, Mapping

from sitebot.channels.sms.courtesy import PREFIX, unreachable
from sitebot.entries import ReachChanged
from sitebot.journal import Turn
from sitebot.message import Person, Say
from sitebot.respond import Notice

#: The channel's words and ours.
WHY = {"not reached": "missed", "network": "network", "stopped": "stopped"}


def look(turn: Turn) -> tuple[Notice, ...]:
    """Bring the log to what the channel knows; what others hear of it, once when it begins and once when it ends."""
    people = {p.id: p for p in turn.log.people()}
    now, before = _out_of_reach(turn, people), turn.log.unreached()
    changed = [p for p in people if now.get(p, "") != before.get(p, "")]
    turn.record([ReachChanged(person=p, why=now.get(p, "")) for p in changed])
    told = [p for p in changed if bool(now.get(p)) != bool(before.get(p))]
    return tuple(n for p in told if (n := _notice(people[p], now.get(p, ""), people, now)))


def _out_of_reach(turn: Turn, people: Mapping[str, Person]) -> dict[str, str]:
    """Who has nothing but numbers that take no texts. Whoever said STOP to us stands in the log already."""
    numbers = [a for p in people.values() for a in p.addresses if not a.startswith("@")]
    gone = unreachable(turn.channel_rows("sms", [PREFIX + n for n in numbers]))
    stopped = turn.log.stopped()
    return {
        p.id: WHY[gone[p.addresses[0]]]
        for p in people.values()
        if p.addresses and p.id not in stopped and all(a in gone for a in p.addresses)
    }


def _notice(person: Person, why: str, people: Mapping[str, Person], gone: Mapping[str, str]) -> Notice | None:
    leads = _who_hears(people, {person.id, *gone})
    key = f"reach.{why}_told" if why else "reach.again_told"
    return Notice(leads, (Say(key, {"name": person.name}),)) if leads else None


#: Begins the key of a word about what was lost: no word is said about the loss of that one.
LOST = "lost-"


def lost(turn: Turn) -> tuple[Notice, ...]:
    """Whom messages that were given up should have reached: somebody has to tell them another way."""
    people = {p.id: p for p in turn.log.people()}
    gone = {out.address for out in turn.lost() if not out.key.startswith(LOST) and out.kind not in ("today", "code")}
    missed = [p for p in people.values() if gone & set(p.addresses)]
    leads = _who_hears(people, {p.id for p in missed})
    return (Notice(leads, (Say("reach.lost_told", {"names": [p.name for p in missed]}),)),) if missed and leads else ()


def _who_hears(people: Mapping[str, Person], gone: Container[str]) -> tuple[str, ...]:
    """The leads; where none of them is left, the superintendent."""
    able = [p for p in people.values() if p.id not in gone]
    return tuple([p.id for p in able if p.role == "lead"] or [p.id for p in able if p.role == "superintendent"])
