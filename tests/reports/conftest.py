"""A small site whose log is written entry by entry, so that a test knows what stands in it."""

from datetime import datetime, timedelta

import pytest

from sitebot.entries import (
    CrewSet,
    DamageReported,
    DayPlanned,
    IronReported,
    PourPlanned,
    SampleReported,
    SpliceCorrected,
    SpliceReported,
    SpliceVoided,
    VerdictGiven,
)
from sitebot.filing import entries_for
from sitebot.journal import Journal
from sitebot.reports.opened import read_from
from sitebot.site import site_of

SITE = {
    "name": "Penstock vault",
    "zone": "America/Denver",
    "irons": ["1", "2"],
    "people": [
        {"name": "Rowena", "role": "lead"},
        {"name": "Iñaki", "role": "crew", "language": "es"},
        {"name": "Pell", "role": "crew"},
        {"name": "Thora", "role": "inspector"},
    ],
    "places": [
        {"name": "east wall", "kinds": {"butt": 3, "flat_corner": 1}},
        {"name": "cámara sur", "kinds": {"butt": 1, "tee": 1}},
    ],
}
#: Ids in the order of the file.
ROWENA, INAKI, PELL, THORA = "p1", "p2", "p3", "p4"
DAY = "2026-09-15"


class Job:
    """A log that grows by entries at hours of one day."""

    def __init__(self, raw=SITE):
        self.site = site_of(raw, "test")
        self.journal = Journal("sqlite://", key=b"k" * 32)
        self.journal.migrate()
        self.now = self.at("05:00")
        with self.journal.turn("vault", self.now) as turn:
            turn.record(entries_for(self.site, None, (), {}))

    def at(self, clock, day=DAY):
        return datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=self.site.tz)

    def tell(self, clock, person, *entries, day=DAY):
        self.now = max(self.now, self.at(clock, day))
        with self.journal.turn("vault", self.at(clock, day)) as turn:
            turn.record(entries, person)

    def weld(self, number, clock, day=DAY, by=PELL, told=None, **fields):
        made = self.at(clock, day)
        entry = SpliceReported(number=number, day=day, made_at=made.isoformat(), **fields)
        self.tell(told or clock, by, entry, day=day)

    def judge(self, number, verdict, clock, day=DAY, by=THORA, **fields):
        self.tell(clock, by, VerdictGiven(number=number, verdict=verdict, **fields), day=day)

    def reading(self, use):
        """What ``use(desk, head)`` gives at a quarter past the last thing told."""
        with read_from(self.journal, "vault", self.now + timedelta(minutes=15)) as (desk, head):
            return use(desk, head)


@pytest.fixture
def job():
    return Job()


@pytest.fixture
def day(job):
    return full_day(job)


def full_day(job):
    """A day with everything in it: a reject and its redo, a late one, a void one, damage, a pour to come."""
    job.tell("05:30", ROWENA, CrewSet(day=DAY, people=(INAKI, PELL)), DayPlanned(date=DAY, start="06:30"))
    for clock, event, temp in (("05:40", "plugged_in", None), ("06:45", "reading", 371.0)):
        iron = IronReported(day=DAY, made_at=job.at(clock).isoformat(), event=event, iron="1", temp_f=temp)
        job.tell(clock, ROWENA, iron)
    sample = SampleReported(day=DAY, made_at=job.at("06:55").isoformat(), verdict="pass", iron="1")
    job.tell("06:55", PELL, sample)
    pair = {"place": "east wall", "welders": (INAKI, PELL), "iron": "1", "temp_f": 370.0}
    job.weld(1, "07:20", kind="butt", profile="6 in", lot="L-88", **pair)
    job.weld(2, "07:50", kind="butt", **pair)
    job.weld(3, "08:10", kind="flat_corner", **{**pair, "temp_f": 394.0})
    job.judge(1, "accept", "09:30")
    job.judge(2, "reject", "09:31", defect="unbonded", value=0.125, unit="in")
    job.judge(3, "accept", "09:32")
    job.weld(4, "10:40", kind="butt", redo_of=2, **pair)
    job.weld(5, "08:50", told="12:15", kind="butt", place="cámara sur", late=True, before_sample=True, iron="2")
    job.weld(6, "12:30", kind="tee", place="cámara sur", welders=(PELL,), iron="1")
    job.tell("12:40", PELL, SpliceVoided(number=6))
    corrected = SpliceCorrected(number=4, change={"temp_f": 368.0}, was={"temp_f": 370.0})
    job.tell("12:50", PELL, corrected)
    job.tell("13:10", ROWENA, PourPlanned(place="cámara sur", date="2026-09-17", at="07:00"))
    job.tell("13:20", ROWENA, DamageReported(number=3, place="east wall", what="nail through the web"))
    return job
