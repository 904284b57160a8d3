"""What every projection uses: the place of an entry, and one way to write a row. No entry has its meaning here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from sitebot.journal.prepared import changing, inserting


@dataclass(frozen=True, slots=True)
class Row:
    """An entry's place in the journal."""

    site: str
    seq: int
    at: datetime
    person: str


def when(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


def put(tx: sa.Connection, table: sa.Table, keys: Mapping[str, Any], values: Mapping[str, Any]) -> None:
    """Update the row with these keys, or insert it."""
    if not (values and change(tx, table, keys, values)):
        add(tx, table, {**keys, **values})


def change(tx: sa.Connection, table: sa.Table, keys: Mapping[str, Any], values: Mapping[str, Any]) -> int:
    """Change the rows with these keys; how many they were."""
    told = {f"b_{name}": value for name, value in keys.items()}
    return changing(table, tuple(keys), tuple(values)).do(tx, **told, **values)


def add(tx: sa.Connection, table: sa.Table, values: Mapping[str, Any]) -> None:
    """A new row, told whole."""
    inserting(table).do(tx, **values)


def nothing(tx: sa.Connection, row: Row, entry: object) -> None:
    """What is only to be read again: no table follows from it."""
