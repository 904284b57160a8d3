"""Which log a command means: a file by its path, a server by its address. A log is made only where told."""

from __future__ import annotations

from pathlib import Path

from sitebot.errors import DataError
from sitebot.journal.store import Journal


def journal_named(where: str, key: Path | None = None, *, is_new: bool = False) -> Journal:
    """The log in a file, or at an address like postgresql+psycopg://user@host/name; DataError where there is none."""
    if "://" in where:
        if key is None and not where.startswith("sqlite"):
            raise DataError("A log on a server is signed with a key in a file. Name that file with --key.")
        return Journal.open(where, key)
    if not is_new and not Path(where).exists():
        raise DataError(f"{where}: no such log. Name it with --db.")
    return Journal.open(f"sqlite:///{where}", key)
