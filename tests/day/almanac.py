"""A made-up stretch of work: what people do, by chance but for ever the same, and the program run over it.

Run as a program it plays the stretch on a log in a file, from wherever that log stands, until it is done or killed:
    python almanac.py sqlite:///LOG.db FIRST LAST
"""

import random
import sys
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache

import sqlalchemy as sa

from sitebot import reminders
from sitebot.acts import Reading
from sitebot.app import App
from sitebot.entries import DayPlanned, Entry, IronReported, SampleReported
from sitebot.journal import Journal
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.site import site_of
from sitebot.stage import load_site

NAME = "site"
KEY = b"k" * 32
#: A day crew and a night crew in a zone with clock changes; weekends, July 3 and a shut week off.
SITE = site_of(
    {
        "name": "Two crews",
        "zone": "America/Denver",
        "irons": ["1", "2"],
        "days_off": ["2026-07-03", *(f"2026-12-{d}" for d in range(24, 32))],
        "people": [
            {"name": "Wilda", "role": "lead", "phone": "+1 303 555 0161"},
            {"name": "Tobin", "role": "crew", "phone": "+1 303 555 0163"},
            {"name": "Ruta", "role": "lead", "phone": "+1 303 555 0169"},
            {"name": "Amaro", "role": "crew", "phone": "+1 303 555 0162", "language": "es"},
            {"name": "Garrick", "role": "superintendent", "phone": "+1 303 555 0165"},
        ],
        "crews": [
            {"name": "day", "people": ["Wilda", "Tobin"], "irons": ["1"], "days": "mon-wed"},
            {
                "name": "night",
                "people": ["Ruta", "Amaro"],
                "irons": ["2"],
                "start": "19:00",
                "end": "03:30",
                # Sunday's night is that of the clock changes.
                "days": "sat-mon",
            },
        ],
        "reminding": {"report": False, "rework": False, "cover": False, "pack": False, "melt_test": False},
    },
    "almanac",
)
#: Monday is 0; told a second time, so that the calendar is not its own judge.
WEEKDAYS = {"day": {0, 1, 2}, "night": {5, 6, 0}}


@dataclass(frozen=True)
class Work:
    """One crew's shift as it was meant and as people went about it; times are UTC, None: nobody said so."""

    crew: str
    iron: str
    day: date
    start: datetime
    end: datetime
    works: bool
    plugged: datetime | None = None
    passed: datetime | None = None
    off: datetime | None = None


@dataclass(frozen=True)
class Deed:
    """Something somebody reports at a time."""

    at: datetime
    entry: Entry


def moment(day, clock):
    return datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=SITE.tz).astimezone(UTC)


def stretch(first, last):
    """Every shift of the stretch."""
    chance = random.Random(f"{first}")
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        for crew in SITE.crews:
            yield _work(crew, day, chance)


def _work(crew, day, chance):
    start, end = crew.start or "07:00", crew.end or "15:30"
    following = day + timedelta(days=1) if end < start else day
    begins, ends = moment(day, start), moment(following, end)
    pattern = day.weekday() in WEEKDAYS[crew.name]
    works = pattern and day not in SITE.days_off
    cancelled = works and chance.random() < 0.04
    said = [None] * 3
    if works and not cancelled:
        if chance.random() < 0.97:
            said[0] = begins + timedelta(minutes=chance.randrange(-75, 10), seconds=chance.randrange(1, 59))
        if said[0] and chance.random() < 0.96:
            said[1] = max(begins, said[0]) + timedelta(minutes=chance.randrange(1, 45), seconds=7)
        if said[0] and chance.random() < 0.97:
            said[2] = ends + timedelta(minutes=chance.randrange(-40, 50), seconds=11)
    return Work(crew.name, crew.irons[0], day, begins, ends, works and not cancelled, *said)


@cache
def rules():
    return Rulebook.load(rules_folder())


@cache
def deeds(first, last):
    """All that is reported in the stretch, in the order of time."""
    found = []
    for w in stretch(first, last):
        day = w.day.isoformat()
        pattern = w.day.weekday() in WEEKDAYS[w.crew]
        if not w.works and pattern and w.day not in SITE.days_off:
            people = tuple(f"p{n}" for n in ((1, 2) if w.crew == "day" else (3, 4)))
            found.append(Deed(w.start - timedelta(hours=9), DayPlanned(date=day, no_work=True, who=people)))
        for at, event in ((w.plugged, "plugged_in"), (w.off, "unplugged")):
            if at:
                entry = IronReported(day=day, made_at=at.isoformat(), event=event, iron=w.iron)
                found.append(Deed(at, entry))
        if w.passed:
            entry = SampleReported(day=day, made_at=w.passed.isoformat(), verdict="pass", iron=w.iron)
            found.append(Deed(w.passed, entry))
    return sorted(found, key=lambda d: d.at)


class Player:
    """The program on a log in a file, over deeds and wakes in the order of time."""

    def __init__(self, url, first, last, is_hasty=False):
        self.first, self.last, self.url, self.is_hasty = first, last, url, is_hasty
        self.end = moment(last, "12:00")
        self.open()
        with self.journal.turn(NAME, moment(first, "00:00")) as turn:
            if turn.log.settings() is None:
                load_site(turn, SITE)
                turn.keep_wakes(reminders.wakes(turn.log.site(), turn.log, turn.now))
        self.done = self._count()

    def open(self):
        """Start the program: nothing is known but what the file holds."""
        self.journal = Journal(self.url, KEY)
        if self.is_hasty:  # a year is long, and the power does not fail in it
            sa.event.listen(self.journal.engine, "connect", lambda c, _: c.execute("PRAGMA synchronous=OFF"))
        self.journal.migrate()
        self.app = App(self.journal, rules(), lambda *_: Reading())

    def restart(self):
        self.journal.close()
        self.open()

    def _count(self):
        """How many deeds stand in the log already."""
        with self.journal.engine.begin() as tx:
            kinds = "'IronReported', 'SampleReported', 'DayPlanned'"
            return tx.exec_driver_sql(f"SELECT count(*) FROM entries WHERE kind IN ({kinds})").scalar()

    def next_at(self):
        """The time of the next wake or deed, and whether it is a deed."""
        deed = deeds(self.first, self.last)[self.done : self.done + 1]
        wake = self.journal.next_wake()
        wakes_at = wake[1] if wake else self.end
        return (deed[0].at, True) if deed and deed[0].at < wakes_at else (wakes_at, False)

    def step(self):
        """One deed or one tick; False where the stretch is over."""
        at, is_deed = self.next_at()
        if at >= self.end:
            return False
        self.do(at, is_deed)
        return True

    def do(self, at, is_deed):
        if not is_deed:
            self.app.tick(NAME, at)
            return
        with self.journal.turn(NAME, at) as turn:
            turn.record([deeds(self.first, self.last)[self.done].entry])
            turn.keep_wakes(reminders.wakes(turn.log.site(), turn.log, at))
        self.done += 1

    def texts(self):
        """Everything in the outbox: when, to whom, what."""
        people = {p.addresses[0]: p.name for p in self._people()}
        return [(at, people[out.address], out.text) for at, out in self.journal.queued_at(NAME)]

    def _people(self):
        with self.journal.turn(NAME, self.end) as turn:
            return turn.log.people()

    def reminded(self):
        """Every line that went out: when, what, of which shift day, to whom."""
        with self.journal.engine.begin() as tx:
            rows = tx.exec_driver_sql("SELECT at, what, day, people FROM reminded ORDER BY seq").all()
        return [(datetime.fromisoformat(at), what, day, people) for at, what, day, people in rows]


def main(url, first, last):
    player = Player(url, date.fromisoformat(first), date.fromisoformat(last))
    print("at work", flush=True)
    while player.step():
        pass


if __name__ == "__main__":
    main(*sys.argv[1:])
