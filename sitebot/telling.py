"""Where what is said goes: a reply to where it was asked, a person's own matters to him alone, site reminders to all.

Makes rows for the outbox. What is said is worded here, but decided in respond/ and reminders/.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sitebot import talks
from sitebot.acts import Act
from sitebot.journal import Turn
from sitebot.message import Incoming, Outgoing, Person, Say
from sitebot.reminders import Due
from sitebot.reminders.lines import kind_of
from sitebot.replies import enclosed, where
from sitebot.respond import Desk, Notice, tally
from sitebot.wording import render_all

#: Reminders that are everybody's matter at the joint: a crew room hears them. Any other goes to its person.
OF_THE_SITE = frozenset({"preheat", "melt", "sample", "unplug", "cover", "pack"})


def reply(message: Incoming, row: int, text: str) -> Outgoing:
    """The reply to a message, where it was said and tied to it."""
    tie = message.reply_to if message.unreadable else message.edits or message.external_id
    return Outgoing(
        key=f"{row}-r",
        channel=message.channel,
        address=message.sender,
        text=text,
        room=message.room,
        reply_to="" if message.reaction or message.retracts else tie,
    )


def too_many(message: Incoming, row: int, desk: Desk, most: int) -> Outgoing:
    """The one word an hour to somebody whose messages are no longer read, so that he does not take them for kept."""
    language = desk.person.language if desk.person else desk.site.language
    return reply(message, row, render_all([Say("rooms.too_many", {"n": most})], language))


def letter(notice: Notice, key: str) -> Outgoing:
    """What goes to an address that is nobody's yet."""
    channel = "matrix" if notice.address.startswith("@") else "sms"
    return Outgoing(key, channel, notice.address, render_all(notice.says, notice.language), "notice")


def is_personal(acts: Iterable[Act]) -> bool:
    """One person's figures: nothing for a crew room."""
    return any(
        (a.name == "ask_tally" and (a.facts.get("welder") or a.facts.get("by") == "welder"))
        or (a.name == "ask_report" and a.facts.get("about") == "welders")
        for a in acts
    )


def to_himself(out: Outgoing, room: str, pointer: str) -> list[Outgoing]:
    """A personal reply goes to the person alone; the room gets a word that it did."""
    return [replace(out, room=room, reply_to=""), replace(out, key=f"{out.key}-room", text=pointer)]


@dataclass(frozen=True, slots=True)
class Teller:
    """Tells people of a site within one turn."""

    turn: Turn

    def notices(self, notices: Sequence[Notice], key: str) -> None:
        """One message a person, in his language, on the channel he last used."""
        self.turn.queue([letter(n, f"{key}-a{i}") for i, n in enumerate(notices) if n.address])
        says: dict[tuple[str, str], list[Say]] = {}
        pictures: dict[tuple[str, str], Mapping[str, object]] = {}
        for notice in notices:
            for person in notice.to:
                says.setdefault((person, notice.kind), []).extend(notice.says)
                if notice.picture:
                    pictures[person, notice.kind] = notice.picture
        people = self._people()
        for (who, kind), said in says.items():
            hearer = people.get(who)
            if hearer and (kind == "reminder" or who not in self.turn.log.stopped()):
                out = self._to(hearer)
                if out:
                    picture = pictures.get((who, kind))
                    text = render_all([*said, *where(picture, out.channel)], hearer.language)
                    is_notice = kind == "notice"
                    kept = replace(
                        out, text=text, key=f"{key}-{who}-{kind[0]}", kind="notice" if is_notice else "reminder"
                    )
                    self.turn.queue([kept], enclosed(kept.key, picture, hearer.language))

    def reminders(self, due: Sequence[Due]) -> None:
        """What is due now: to the crew room what concerns the site, where the hearers share one; else to each."""
        for d in due:
            key = f"c-{d.entry.day}-{d.entry.what}-{d.entry.step}"
            in_room = self._room_for(d, due) if d.notice.to else {}
            for room, hearers in in_room.items():
                self._to_room(room, hearers, d.notice, key)
            shared = {p.id for hearers in in_room.values() for p in hearers}
            rest = tuple(p for p in d.notice.to if p not in shared)
            if rest:
                self.notices([replace(d.notice, to=rest)], key)

    def _room_for(self, d: Due, due: Sequence[Due]) -> Mapping[tuple[str, str], list[Person]]:
        """The hearers that a (channel, room) reaches; nobody where the matter is a person's own."""
        if not all(kind in OF_THE_SITE for kind in _kinds(d, due)):
            return {}
        found: dict[tuple[str, str], list[Person]] = {}
        people = self._people()
        for who in d.notice.to:
            out = self._to(people[who]) if who in people else None
            _, room = self.turn.traces.crew_room(out.channel) if out else ("", "")
            if out and room:
                found.setdefault((out.channel, room), []).append(people[who])
        return found

    def _to_room(self, where: tuple[str, str], hearers: Sequence[Person], notice: Notice, key: str) -> None:
        """One message for each language among the hearers, who are called by it."""
        channel, room = where
        for language in dict.fromkeys(p.language for p in hearers):
            outs = [out for p in hearers if p.language == language and (out := self._to(p))]
            self.turn.queue(
                [
                    Outgoing(
                        key=f"{key}-room-{language}",
                        channel=channel,
                        address=outs[0].address,
                        text=render_all(notice.says, language),
                        kind="reminder",
                        room=room,
                        mentions=tuple(out.address for out in outs),
                    )
                ]
            )

    def today(self, desk: Desk) -> None:
        """The crew room's pinned message: what was made today, place by place. No person's figures."""
        channel, room = self.turn.traces.crew_room()
        if room:
            made = tally.answer(Act("ask_tally", {"period": "today", "by": "place"}), desk)
            text = render_all(
                [Say("rooms.today", {"date": date.fromisoformat(desk.day)}), *made.says], desk.site.language
            )
            self.turn.show_today(desk.day, Outgoing("", channel, "", text, room=room))

    def _people(self) -> dict[str, Person]:
        return {p.id: p for p in self.turn.log.people()}

    def _to(self, person: Person) -> Outgoing | None:
        """An empty message to a person, on the channel he last used, in the room that is his and ours alone."""
        if not person.addresses:
            return None
        talk = talks.of_json(self.turn.talk(person.id), self.turn.now)
        address = person.addresses[0]
        channel = talk.channel or ("matrix" if address.startswith("@") else "sms")
        if channel == "matrix" and not any(a.startswith("@") for a in person.addresses):
            channel = "sms"  # he has another number now and no name there
        if channel == "sms" and address.startswith("@"):
            address = next((a for a in person.addresses if not a.startswith("@")), address)
        if channel == "matrix" and not address.startswith("@"):
            address = next((a for a in person.addresses if a.startswith("@")), address)
        return Outgoing(key="", channel=channel, address=address, text="", room=talk.room)


def _kinds(d: Due, due: Sequence[Due]) -> set[str]:
    """The kinds of lines in one text: its own, or those of several that were put together for the same people."""
    if d.entry.what != "round":
        return {kind_of(d.entry.what)}
    mine = [o for o in due if o.entry.what != "round" and set(d.notice.to) <= set(o.entry.to)]
    return {kind_of(o.entry.what) for o in mine if not set(d.notice.to) <= set(o.notice.to)}
