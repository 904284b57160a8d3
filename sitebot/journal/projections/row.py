"""What every projection uses: the place of an entry, and one way to write a row. No entry has its meaning here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa


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
    same = sa.and_(*(table.c[k] == v for k, v in keys.items()))
    if not (values and tx.execute(table.update().where(same).values(**values)).rowcount):
        tx.execute(table.insert().values(**keys, **values))


def nothing(tx: sa.Connection, row: Row, entry: object) -> None:
    """What is only to be read again: no table follows from it."""
