"""How late a reminder leaves after its time, on the real clock: the whole of ``sitebot run`` among many pending wakes.

python -m tests.bench.lateness [REMINDERS] [PENDING]
"""

import asyncio
import sys
import tempfile
from collections.abc import Awaitable, Callable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

from sitebot.app import App
from sitebot.entries import DayPlanned
from sitebot.journal import Journal
from sitebot.journal import tables as t
from sitebot.message import Outgoing
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.running import Running
from sitebot.site import site_of
from sitebot.stage import load_site

#: From one reminder to the next, and before the first [s].
APART, BEFORE = 0.25, 5.0
ADDRESS = "+1303555{:04}"


class Phones:
    """The people's end: when each text came."""

    name = "sms"

    def __init__(self) -> None:
        self.heard: dict[str, datetime] = {}

    async def listen(self, keep: Callable[..., Awaitable[None]]) -> None:
        await asyncio.Event().wait()

    async def send(self, out: Outgoing) -> str:
        self.heard[out.address] = datetime.now(UTC)
        return out.key


def made(url: str, count: int, pending: int) -> tuple[Journal, dict[str, datetime]]:
    """A site where each person asked for one reminder, other sites with wakes ahead; when each is due by address."""
    journal = Journal(url, b"k" * 32)
    journal.migrate()
    people = [{"name": f"Welder {n}", "role": "crew", "phone": ADDRESS.format(n)} for n in range(count)]
    site = site_of({"name": "Tank", "zone": "UTC", "shift": {"days": ""}, "people": people}, "bench")
    first = datetime.now(UTC) + timedelta(seconds=BEFORE)
    due = {}
    with journal.turn("site", datetime.now(UTC)) as turn:
        load_site(turn, site)
        entries = []
        for n, person in enumerate(turn.log.people()):
            at = first + timedelta(seconds=APART * n)
            due[person.addresses[0]] = at
            day = at.date().isoformat()
            entries.append(DayPlanned(date=day, remind_at=at.isoformat(), what=f"look at {n}", who=(person.id,)))
        turn.record(entries)
    later = datetime.now(UTC) + timedelta(days=1)
    with journal.engine.begin() as tx:
        rows = [{"site": f"s{n // 6}", "what": f"w{n % 6}", "due_at": later} for n in range(pending)]
        tx.execute(t.wakes.insert(), rows)
    return journal, due


async def lived(journal: Journal, due: dict[str, datetime]) -> list[float]:
    """Run until all have come; how late each was [s]."""
    phones = Phones()
    running = Running(App(journal, Rulebook.load(rules_folder())), {"sms": lambda _: phones}, "site")
    life = asyncio.create_task(running.run())
    with suppress(TimeoutError):
        async with asyncio.timeout(BEFORE + APART * len(due) + 60):
            while len(phones.heard) < len(due):
                await asyncio.sleep(0.1)
    life.cancel()
    with suppress(asyncio.CancelledError):
        await life
    assert len(phones.heard) == len(due), "reminders were lost"
    return sorted((phones.heard[address] - at).total_seconds() for address, at in due.items())


def measure(count: int = 60, pending: int = 100_000) -> list[float]:
    with tempfile.TemporaryDirectory() as folder:
        journal, due = made(f"sqlite:///{Path(folder) / 'log.db'}", count, pending)
        late = asyncio.run(lived(journal, due))
        journal.close()
    return late


def main() -> None:
    numbers = [int(word) for word in sys.argv[1:]]
    late = measure(*numbers)
    print(f"{len(late)} reminders: median {median(late):.3f} s late, worst {late[-1]:.3f} s")


if __name__ == "__main__":
    main()
