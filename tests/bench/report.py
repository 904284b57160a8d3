"""Time and memory of reports over a long log, each in a process of its own: ``python -m tests.bench.report``."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rich.console import Console
from rich.table import Table

from sitebot.entries import IronReported, PlacePlanned, SpliceReported, VerdictGiven
from sitebot.filing import entries_for
from sitebot.journal import Journal
from sitebot.reports.attachment import attachment
from sitebot.reports.opened import read_from
from sitebot.site import site_of

SPLICES = 1000
START = datetime(2026, 3, 2, 13, 0, tzinfo=UTC)
#: All of one day and one place, so that the day's report and the dossier list every one of them.
WHAT = {
    "report of the day": {"report": "2026-03-02"},
    "dossier of the place": {"dossier": "wall"},
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
    journal.close()


def one(path: Path, name: str) -> None:
    """Make one file and print its seconds, peak memory [MB] and size [kB]."""
    journal = Journal.at(path)
    begun = time.perf_counter()
    with read_from(journal, "s", START + timedelta(hours=9)) as (desk, head):
        media = attachment(WHAT[name], desk, head, "en")
    took = time.perf_counter() - begun
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{took:.2f} {peak:.0f} {len(media.data) / 1024:.0f}")


def main() -> None:
    table = Table("what", "s", "MB", "kB")
    with tempfile.TemporaryDirectory() as folder, Console().status(f"measuring {SPLICES} splices ..."):
        path = Path(folder) / "bench.db"
        write_log(path)
        for name in WHAT:
            command = [sys.executable, "-m", "tests.bench.report", str(path), name]
            found = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
            table.add_row(name, *found)
    Console().print(table)


if __name__ == "__main__":
    main() if len(sys.argv) == 1 else one(Path(sys.argv[1]), sys.argv[2])
