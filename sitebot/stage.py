"""A site on a clock that only moves when told, on the memory channel: scripted days, the demo, the terminal, tests."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from datetime import datetime

from sitebot import reminders
from sitebot.app import App
from sitebot.channels.memory import MemoryChannel
from sitebot.filing import entries_for
from sitebot.journal import Journal, Turn
from sitebot.message import Incoming, Media, Outgoing, Person
from sitebot.numbers import e164
from sitebot.outbox import send_due
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import Site, SiteFile

#: The site's name in a log of its own.
SITE = "site"


class Stage:
    """A site on a clock that only moves when told."""

    def __init__(self, site: Site, start: datetime, journal: Journal | None = None, name: str = SITE) -> None:
        self.site = site
        self.name = name
        self.now = start
        self.journal = journal or Journal("sqlite://")
        self.journal.migrate()
        self.channel = MemoryChannel()
        self.app = App(self.journal, Rulebook.load(rules_folder()))
        self.count = 0
        with self.journal.turn(name, start) as turn:
            if isinstance(site, SiteFile):
                load_site(turn, site)
        self.app.tick(name, start)
        self.names = {a: p.name for p in self.people() for a in p.addresses}
        self.addresses = {name: address for address, name in self.names.items()}

    def people(self) -> Sequence[Person]:
        with self.journal.turn(self.name, self.now) as turn:
            return turn.log.people()

    def run_to(self, moment: datetime) -> None:
        """Let the clock run: every wake on the way is a tick at its own time."""
        while (wake := self.journal.next_wake()) and wake[1] <= moment:
            self.now = max(self.now, wake[1])
            self.app.tick(self.name, self.now)
        self.now = max(self.now, moment)

    def say(
        self,
        sender: str,
        text: str,
        written_at: datetime | None = None,
        *,
        media: tuple[Media, ...] = (),
        reply_to: str = "",
    ) -> str:
        """A person of the roster, or a stranger's number, texts; the id of the message."""
        self.count += 1
        address = self.addresses.get(sender) or e164(sender, self.site.region) or sender
        self.names.setdefault(address, sender)
        ident = str(self.count)
        message = Incoming(
            self.channel.name, ident, address, text, self.now, written_at, reply_to=reply_to, media=media
        )
        self.app.receive(self.name, message, self.now)
        return ident

    def sent(self) -> list[tuple[datetime, Outgoing]]:
        """What went out since the last call, each with its time."""
        times = {out.key: at for at, out in self.journal.queued_at(self.name)}
        asyncio.run(send_due(self.journal, {"memory": self.channel, "sms": self.channel}, self.now))
        out, self.channel.sent = self.channel.sent, []
        return [(times.get(o.key, self.now), o) for o in out]

    def name_of(self, address: str) -> str:
        return self.names.get(address, address)


def load_site(turn: Turn, site: SiteFile) -> int:
    """Bring a site's log to what its file says; how many entries that took."""
    log = turn.log
    entries = entries_for(site, log.settings(), log.people(), log.filed_plan(), log.filed(), log.next_person())
    turn.record(entries)
    if entries:
        # A changed zone or shift moves every wake.
        turn.keep_wakes(reminders.wakes(turn.log.site(), turn.log, turn.now))
    return len(entries)
