"""A site on a clock of its own, told by entries what a reader would have read; what went out by the clock."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest

from sitebot import reminders
from sitebot.acts import Act, Reading
from sitebot.entries import IronReported, SampleReported, SpliceReported
from sitebot.journal import Journal
from sitebot.site import site_of
from sitebot.stage import Stage
from tests.databases import database, postgres

__all__ = ["database", "postgres"]

PEOPLE = [
    {"name": "Wilda", "role": "lead", "phone": "+1 303 555 0161"},
    {"name": "Amaro", "role": "crew", "language": "es", "phone": "+1 303 555 0162"},
    {"name": "Tobin", "role": "crew", "phone": "+1 303 555 0163"},
    {"name": "Ines", "role": "inspector", "phone": "+1 303 555 0164"},
    {"name": "Garrick", "role": "superintendent", "phone": "+1 303 555 0165"},
]
#: Only what the shift itself asks for: what is tested is not lost among the rest.
BARE = dict.fromkeys(("report", "pack", "rework", "cover", "melt_test", "pour", "seal"), False)


@dataclass(frozen=True)
class Sent:
    """One reminder that went out."""

    at: str
    to: str
    text: str


class Clocked:
    """A site, its clock and its log."""

    def __init__(self, start="2026-04-14T05:00", journal=None, **settings):
        raw = {"name": "Tank 2", "zone": "America/Denver", "people": PEOPLE, "reminding": BARE} | settings
        self.site = site_of(raw, "test")
        self.stage = Stage(self.site, self.utc(start), journal)
        self.acts = ()
        self.stage.app.reader = lambda text, context: Reading(self.acts)
        self.sent()  # what was due before a test begins is not what it is about

    def utc(self, local):
        return datetime.fromisoformat(local).replace(tzinfo=self.site.tz).astimezone(UTC)

    @property
    def now(self):
        return self.stage.now

    def id(self, name):
        return next(p.id for p in self.stage.people() if p.name == name)

    def told(self, *entries, by=""):
        """Entries as a message brings them: recorded in one turn that says when to wake."""
        with self.stage.journal.turn(self.stage.name, self.now) as turn:
            turn.record(entries, by)
            turn.keep_wakes(reminders.wakes(turn.log.site(), turn.log, self.now))

    def iron(self, event, iron=None, temp=None, day=None):
        day = day or self.now.astimezone(self.site.tz).date().isoformat()
        self.told(IronReported(day=day, made_at=self.now.isoformat(), event=event, iron=iron, temp_f=temp))

    def sample(self, verdict="pass", iron=None):
        day = self.now.astimezone(self.site.tz).date().isoformat()
        self.told(SampleReported(day=day, made_at=self.now.isoformat(), verdict=verdict, iron=iron))

    def welds(self, count, iron=None, place=None):
        day = self.now.astimezone(self.site.tz).date().isoformat()
        with self.stage.journal.turn(self.stage.name, self.now) as turn:
            first = turn.log.highest() + 1
        made = self.now.isoformat()
        self.told(
            *(
                SpliceReported(number=n, day=day, made_at=made, iron=iron, place=place, kind="butt")
                for n in range(first, first + count)
            )
        )

    def to(self, local):
        """Let the clock run; what went out by it."""
        self.stage.run_to(self.utc(local))
        return self.sent()

    def asleep_to(self, local):
        """The program is down; then one look at the clock."""
        self.stage.now = self.utc(local)
        self.stage.run_to(self.now)
        self.stage.app.tick(self.stage.name, self.now)
        return self.sent()

    def minutes(self, count):
        self.stage.run_to(self.now + timedelta(minutes=count))
        return self.sent()

    def says(self, who, act, **facts):
        """Text something that is read as this act; the reply."""
        self.stage.sent()
        self.acts = (Act(act, facts),)
        self.stage.say(who, f"text {self.stage.count}")
        return " ".join(o.text for _, o in self.stage.sent() if o.kind == "reply")

    def sent_by(self, clock):
        """What goes out until that time of the next such day."""
        local = self.now.astimezone(self.site.tz)
        hour, minute = map(int, clock.split(":"))
        then = local.replace(hour=hour, minute=minute, second=30)
        return self.to((then if then > local else then + timedelta(days=1)).strftime("%Y-%m-%dT%H:%M:%S"))

    def irons(self):
        with self.stage.journal.turn(self.stage.name, self.now) as turn:
            return turn.log.irons()

    def sent(self):
        out = []
        while batch := self.stage.sent():  # the outbox sends so many at a time
            out += batch
        return [
            Sent(at.astimezone(self.site.tz).strftime("%H:%M"), self.stage.name_of(o.address), o.text)
            for at, o in out
            if o.kind == "reminder"
        ]


@pytest.fixture
def clocked(request):
    """A site on a clock, its log on SQLite, or on what the module asks for."""
    if getattr(request, "param", "sqlite") == "sqlite":
        yield Clocked
        return
    server = request.getfixturevalue("postgres_server")
    opened = []

    def on_postgres(start="2026-04-14T05:00", journal=None, **settings):
        if journal is None:
            journal = Journal(server.new(), b"k" * 32)
            opened.append(journal)
        return Clocked(start, journal, **settings)

    yield on_postgres
    for journal in opened:
        journal.close()
        server.drop(journal.url)
