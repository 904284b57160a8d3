"""Print the table: ``python -m tests.bench``."""

from rich.console import Console
from rich.table import Table

from tests.bench import process, road


def main() -> None:
    console = Console()
    with console.status("measuring the road ..."):
        rows = road.measure()
    table = Table("what", "messages/s", "of the floor")
    for name, rate, share in rows:
        table.add_row(name, f"{rate:.0f}", f"{share:.2f}")
    console.print(table)
    ours, bare = process.cold_start()
    console.print(f"cold start to first reply: {ours:.2f} s ({ours / bare:.1f} x an empty Python, {bare:.2f} s)")
    console.print(f"peak memory: {process.peak_memory_mb():.0f} MB")


if __name__ == "__main__":
    main()
