"""Time and memory of reports over a long log with photos: ``python -m tests.bench.reports``. A process for each file.

The photos are of 12 megapixels, two to each reject. Cold: their small copies are not there yet (a restored backup).
"""

from __future__ import annotations

import io
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rich.console import Console
from rich.table import Table

from sitebot.entries import IronReported, PhotoKept, PlacePlanned, SpliceReported, VerdictGiven
from sitebot.filing import entries_for
from sitebot.journal import Journal
from sitebot.reports.attachment import attachment
from sitebot.reports.opened import read_from
from sitebot.site import site_of
from tests.reports.photography import picture

SPLICES, PHOTOS = 1000, 200
START = datetime(2026, 3, 2, 13, 0, tzinfo=UTC)
#: All of one day and one place, so that the day's report and the dossier list every one of them.
WHAT = {
    "report of the day": {"report": "2026-03-02"},
    "dossier of the place": {"dossier": "wall"},
    "dossier, cold": {"dossier": "wall"},
    "CSV": {"log": "csv"},
    "XLSX": {"log": "xlsx"},
    "chart of the pace": {"chart": "pace"},
    "chart of the heats": {"chart": "heats"},
    "map of the place": {"map": "wall"},
}


def write_log(path: Path) -> None:
    """A thousand splices of one day and place, each judged, every tenth rejected; a reading to each."""
    people = [{"name": n, "role": r} for n, r in (("Ada", "lead"), ("Bo", "crew"), ("Cy", "inspector"))]
    site = site_of({"name": "bench", "people": people}, "bench")
    journal = Journal.at(path)
    journal.migrate()
    with journal.turn("s", START) as turn:
        turn.record([*entries_for(site, None, (), {}), PlacePlanned(place="wall", kinds={"butt": SPLICES + 50})])
    for n in range(1, SPLICES + 1):
        at = START + timedelta(seconds=20 * n)
        fields = {"day": "2026-03-02", "made_at": at.isoformat(), "iron": "1", "temp_f": 360.0 + n % 25}
        with journal.turn("s", at) as turn:
            turn.record([SpliceReported(number=n, place="wall", kind="butt", welders=("p2",), **fields)], "p2")
            turn.record([IronReported(event="reading", **fields)], "p1")
            verdict = VerdictGiven(number=n, verdict="reject" if n % 10 == 0 else "accept", defect=None)
            turn.record([verdict], "p3")
    with journal.turn("s", START + timedelta(hours=8)) as turn:
        turn.record([*photos(journal)], "p3")
    for name in journal.photos.names():
        journal.photos.small(name)
    journal.close()


def photos(journal: Journal) -> Iterator[PhotoKept]:
    """Originals that differ in a comment alone, so that making them takes no longer than reading them."""
    out = io.BytesIO()
    picture(1000, 750, noise=True).resize((4000, 3000)).save(out, "JPEG", quality=85)
    base = out.getvalue()
    for n in range(PHOTOS):
        note = f"{n:08d}".encode()
        data = base[:2] + b"\xff\xfe" + (len(note) + 2).to_bytes(2, "big") + note + base[2:]
        name = journal.photos.put(data)
        about = {"mime": "image/jpeg", "size": len(data), "width": 4000, "height": 3000}
        yield PhotoKept(sha256=name, day="2026-03-02", numbers=(10 * (n // 2) + 10,), **about)


def one(path: Path, name: str) -> None:
    """Make one file and print its seconds, those of the processor, peak memory [MB] and size [kB]."""
    journal = Journal.at(path)
    if name.endswith("cold"):
        shutil.rmtree(journal.photos.path / "small")
    begun, cpu = time.perf_counter(), time.process_time()
    with read_from(journal, "s", START + timedelta(hours=9)) as (desk, head):
        media = attachment(WHAT[name], desk, head, "en", journal.photos)
    took, cpu = time.perf_counter() - begun, time.process_time() - cpu
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{took:.2f} {cpu:.2f} {peak:.0f} {len(media.data) / 1024:.0f}")


def main() -> None:
    table = Table("what", "s", "s of CPU", "MB", "kB")
    with (
        tempfile.TemporaryDirectory() as folder,
        Console().status(f"measuring {SPLICES} splices with {PHOTOS} photos ..."),
    ):
        path = Path(folder) / "bench.db"
        write_log(path)
        for name in WHAT:
            command = [sys.executable, "-m", "tests.bench.reports", str(path), name]
            found = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
            table.add_row(name, *found)
    Console().print(table)


if __name__ == "__main__":
    main() if len(sys.argv) == 1 else one(Path(sys.argv[1]), sys.argv[2])
