"""Statements of the road, made once: SQLAlchemy writes each for its database, the driver runs it.

To run one through SQLAlchemy costs ten times what SQLite takes for it. What is seldom asked still goes that way.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import sqlalchemy as sa

from sitebot.journal.engine import passed_on

Convert = Callable[[Any], Any]
Found = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Written:
    """A statement in one database's words."""

    text: str
    #: What the driver is given, in its order, and how it is put for it.
    takes: tuple[tuple[str, Convert | None], ...]
    is_by_name: bool
    #: What stands in the statement itself.
    fixed: Found
    #: The columns that come back, and how those are read that need it.
    gives: tuple[str, ...]
    reads: tuple[tuple[str, Convert], ...]

    def bound(self, values: Found) -> Found | list[Any]:
        if self.fixed:
            values = {**self.fixed, **values}
        if self.is_by_name:
            return {name: put(values[name]) if put else values[name] for name, put in self.takes}
        return [put(values[name]) if put else values[name] for name, put in self.takes]

    def row(self, found: Sequence[Any]) -> Found:
        row = dict(zip(self.gives, found, strict=True))
        for name, read in self.reads:
            row[name] = read(row[name])
        return row


class Prepared:
    """A statement whose values are named ``b_...``, and the columns that it writes under their own names."""

    def __init__(self, statement: sa.Select[Any] | sa.UpdateBase, *columns: str) -> None:
        self._statement = statement
        self._columns = columns
        self._written: dict[str, _Written] = {}

    def all(self, tx: sa.Connection, **values: Any) -> list[Found]:
        written = self._for(tx)
        row = written.row
        return [row(found) for found in self._run(tx, written, values).fetchall()]

    def first(self, tx: sa.Connection, **values: Any) -> Found | None:
        written = self._for(tx)
        found = self._run(tx, written, values).fetchone()
        return None if found is None else written.row(found)

    def value(self, tx: sa.Connection, **values: Any) -> Any:
        """The first column of the first row."""
        found = self.first(tx, **values)
        return None if found is None else next(iter(found.values()))

    def do(self, tx: sa.Connection, **values: Any) -> int:
        """Write; how many rows it was."""
        return int(self._run(tx, self._for(tx), values).rowcount)

    def _for(self, tx: sa.Connection) -> _Written:
        written = self._written.get(tx.dialect.name)
        if written is None:
            written = self._written[tx.dialect.name] = _write(self._statement, self._columns, tx.dialect)
        return written

    def _run(self, tx: sa.Connection, written: _Written, values: Found) -> Any:
        driver: Any = tx.connection.driver_connection
        try:
            return driver.execute(written.text, written.bound(values))
        except tx.dialect.loaded_dbapi.Error as error:
            raise passed_on(error) from error


def _write(statement: sa.Select[Any] | sa.UpdateBase, columns: Sequence[str], dialect: sa.Dialect) -> _Written:
    compiled: Any = statement.compile(dialect=dialect, column_keys=list(columns) or None)
    types = {name: bind.type.dialect_impl(dialect) for name, bind in compiled.binds.items()}
    puts = {name: type_.bind_processor(dialect) for name, type_ in types.items()}
    names = compiled.positiontup if compiled.positional else list(compiled.binds)
    given = list(statement.selected_columns) if isinstance(statement, sa.Select) else []
    # Both drivers give numbers as they are.
    texts = [c for c in given if not isinstance(c.type, sa.Float)]
    reads = ((str(c.key), c.type.dialect_impl(dialect).result_processor(dialect, None)) for c in texts)
    return _Written(
        text=str(compiled),
        takes=tuple((name, puts[name]) for name in names),
        is_by_name=not compiled.positional,
        fixed={name: bind.value for name, bind in compiled.binds.items() if not bind.required},
        gives=tuple(str(c.key) for c in given),
        reads=tuple((name, read) for name, read in reads if read),
    )


def b(column: sa.Column[Any], name: str = "") -> sa.BindParameter[Any]:
    """The value a column is compared with: ``b_`` and the column's name, or another."""
    return sa.bindparam(f"b_{name or column.name}", type_=column.type)


@cache
def inserting(table: sa.Table) -> Prepared:
    """A row with every column of the table."""
    return Prepared(table.insert(), *table.c.keys())


@cache
def selecting(table: sa.Table, names: tuple[str, ...] = (), order: str = "") -> Prepared:
    """The rows of a site with these columns as told."""
    where = (table.c[name] == b(table.c[name]) for name in ("site", *names))
    query = sa.select(table).where(*where)
    return Prepared(query.order_by(table.c[order]) if order else query)


@cache
def changing(table: sa.Table, keys: tuple[str, ...], columns: tuple[str, ...]) -> Prepared:
    """These columns of the rows with these keys."""
    return Prepared(table.update().where(*(table.c[key] == b(table.c[key]) for key in keys)), *columns)
