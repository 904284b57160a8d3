"""An invented month of a job, and every chart and map of it: to look at, before there is a month of one's own.

Made up with a fixed seed, so that it is the same each time. Nothing here is read from or sent to anybody.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sitebot.entries import CrewSet, Entry, IronReported, SampleReported, SpliceReported, VerdictGiven
from sitebot.filing import entries_for
from sitebot.journal import Journal
from sitebot.message import Language
from sitebot.reports import pictures
from sitebot.reports.opened import read_from
from sitebot.site import SiteFile, read_site_file

NAME = "month"
FILE = Path(__file__).parent / "month.toml"
#: The first Monday, and how many weeks of five days are told.
FIRST, WEEKS = (2026, 6, 1), 4
LEAD, CREW, INSPECTOR = "p1", ("p2", "p3", "p4"), "p5"
#: On this work day (from 0) the irons ran hot.
HOT_DAY = 11


@dataclass(slots=True)
class _Job:
    """Where the made-up job stands: what is left of the plan, what waits for a redo, the next number."""

    chance: random.Random
    left: list[tuple[str, str]]
    redo: list[SpliceReported] = field(default_factory=list)
    #: Made too late in the day to be inspected on it.
    waiting: list[SpliceReported] = field(default_factory=list)
    number: int = 1
    covers: dict[str, int] = field(default_factory=lambda: {"1": 0, "2": 0})


def write(folder: Path, languages: Sequence[Language] = ("en", "es")) -> list[Path]:
    """Every chart and map of the month as PNG, in each language; the files written."""
    journal = journal_of_month()
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    with read_from(journal, NAME, last_moment()) as (desk, _):
        for language in languages:
            for name, data in pictures.all_pictures(desk, language):
                path = folder / f"{name}-{language}.png"
                path.write_bytes(data)
                written.append(path)
    journal.close()
    return written


def last_moment() -> datetime:
    """The evening of the last day told."""
    site = read_site_file(FILE)
    return (datetime(*FIRST, 16, tzinfo=site.tz) + timedelta(days=7 * WEEKS - 3)).astimezone(UTC)


def journal_of_month() -> Journal:
    """A log in memory that holds the month."""
    site = read_site_file(FILE)
    journal = Journal("sqlite://")
    journal.migrate()
    start = datetime(*FIRST, 5, 30, tzinfo=site.tz)
    with journal.turn(NAME, start.astimezone(UTC)) as turn:
        turn.record(entries_for(site, None, (), {}))
    for moment, person, entries in _month(site):
        with journal.turn(NAME, moment.astimezone(UTC)) as turn:
            turn.record(entries, person)
    return journal


def _month(site: SiteFile) -> Iterator[tuple[datetime, str, Sequence[Entry]]]:
    chance = random.Random(7)  # noqa: S311  a made-up job, not a secret
    left = [(p.name, str(kind)) for p in site.places for kind, n in p.kinds.items() for _ in range(n)]
    job = _Job(chance, left)
    for day in range(5 * WEEKS):
        morning = datetime(*FIRST, 6, tzinfo=site.tz) + timedelta(days=7 * (day // 5) + day % 5)
        yield from _morning(job, morning)
        made = list(_welds(job, morning, is_hot=day == HOT_DAY))
        for moment, entry in made:
            yield moment, str(entry.welders[0]), [entry]
        yield from _inspection(job, morning, [entry for _, entry in made], is_hot=day == HOT_DAY)
        off = [
            IronReported(day=_day(morning), made_at=_at(morning, 570), event="unplugged", iron=iron) for iron in "12"
        ]
        yield morning + timedelta(minutes=570), LEAD, off


def _day(morning: datetime) -> str:
    return morning.date().isoformat()


def _at(morning: datetime, minutes: float) -> str:
    return (morning + timedelta(minutes=minutes)).isoformat()


def _morning(job: _Job, morning: datetime) -> Iterator[tuple[datetime, str, Sequence[Entry]]]:
    """Irons on, the crew, a sample each, a new cover where the old one has seen enough."""
    day = _day(morning)
    yield morning, LEAD, [CrewSet(day=day, people=CREW)]
    for iron in "12":
        on = IronReported(day=day, made_at=_at(morning, 3), event="plugged_in", iron=iron)
        yield morning + timedelta(minutes=3), LEAD, [on]
        if job.covers[iron] > 34 + job.chance.randrange(10):
            job.covers[iron] = 0
            cover = IronReported(day=day, made_at=_at(morning, 50), event="cover_changed", iron=iron)
            yield morning + timedelta(minutes=50), LEAD, [cover]
        heat = round(job.chance.gauss(370, 4))
        read = IronReported(day=day, made_at=_at(morning, 62), event="reading", iron=iron, temp_f=heat)
        yield morning + timedelta(minutes=62), LEAD, [read]
        sample = SampleReported(day=day, made_at=_at(morning, 75), verdict="pass", iron=iron)
        yield morning + timedelta(minutes=75), CREW[0], [sample]


def _welds(job: _Job, morning: datetime, *, is_hot: bool) -> Iterator[tuple[datetime, SpliceReported]]:
    """What was rejected the day before first, then on with the plan."""
    count = max(2, round(job.chance.gauss(8, 2.2)))
    for i in range(count):
        if not job.redo and not job.left:
            return
        old = job.redo.pop(0) if job.redo else None
        place, kind = (old.place or "", old.kind) if old else job.left.pop(0)
        iron = str(1 + i % 2)
        job.covers[iron] += 1
        minutes = 100 + i * 400 / count + job.chance.randrange(12)
        entry = SpliceReported(
            number=job.number,
            day=_day(morning),
            made_at=_at(morning, minutes),
            place=place,
            kind=kind,
            welders=tuple(job.chance.sample(CREW, 2)),
            iron=iron,
            temp_f=round(job.chance.gauss(398 if is_hot else 371, 5)),
            redo_of=old.number if old else None,
        )
        job.number += 1
        yield morning + timedelta(minutes=minutes), entry


def _inspection(
    job: _Job, morning: datetime, made: Sequence[SpliceReported], *, is_hot: bool
) -> Iterator[tuple[datetime, str, Sequence[Entry]]]:
    """In the afternoon; the last weld of the day waits for the next."""
    today, job.waiting = [*job.waiting, *made[:-1]], list(made[-1:])
    for i, splice in enumerate(today):
        is_bad = job.chance.random() < (0.7 if is_hot else 0.05)
        defect = (
            ("char" if is_hot else job.chance.choice(["porosity", "unbonded", "bulb_misaligned"])) if is_bad else None
        )
        verdict = VerdictGiven(number=splice.number, verdict="reject" if is_bad else "accept", defect=defect)
        yield morning + timedelta(minutes=540 + i), INSPECTOR, [verdict]
        if is_bad:
            job.redo.append(splice)
