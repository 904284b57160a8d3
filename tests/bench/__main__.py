"""Print the table: ``python -m tests.bench``; ``--postgres``, ``--sites`` and ``--growth`` add the longer parts."""

import sys

from rich.console import Console
from rich.table import Table

from tests.bench import growth, postgres, process, road, sites


def main() -> None:
    console, table = (
        Console(width=110),
        Table("what", "messages/s", "of the floor", "CPU ms", "p50 ms", "p99 ms", "statements"),
    )
    with console.status("measuring ..."):
        for m in road.measure():
            figures = (f"{x:.1f}" if x else "" for x in (m.cpu, m.p50, m.p99, m.statements))
            table.add_row(f"SQLite: {m.name}", f"{m.rate:.0f}", f"{m.share:.2f}", *figures)
        if "--postgres" in sys.argv:
            for p in postgres.measure():
                cpu = f"{p.workers_ms:.1f}+{p.server_ms:.1f}"
                table.add_row(f"PostgreSQL: {p.name}", f"{p.rate:.0f}", f"{p.share:.2f}", cpu)
        if "--sites" in sys.argv:
            for name, median in zip(("alone", "among 1,000 sites"), sites.measure(), strict=True):
                table.add_row(f"a report {name}", "", "", "", f"{median:.1f}")
        ours, bare = process.cold_start()
    console.print(table)
    console.print(f"cold start to first reply: {ours:.2f} s ({ours / bare:.1f} x an empty Python, {bare:.2f} s)")
    console.print(f"peak memory: {process.peak_memory_mb():.0f} MB")
    if "--growth" in sys.argv:
        growth.main(growth.SIZES)


if __name__ == "__main__":
    main()
