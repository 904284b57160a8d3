"""Is the log whole: walk the chain, rebuild the derived tables from the entries, compare. Changes nothing."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

import sqlalchemy as sa

from sitebot.entries import KINDS, entry_of
from sitebot.journal import chain
from sitebot.journal import tables as t
from sitebot.journal.projections import PROJECTED, Row
from sitebot.journal.store import Journal

Steps = Callable[[Sequence[Any]], Iterable[Any]]


def check(journal: Journal, site: str, steps: Steps = lambda rows: rows) -> Iterator[str]:
    """Every fault found, in words; nothing where the log is whole."""
    with journal.engine.begin() as tx:
        rows = (
            tx.execute(sa.select(t.entries).where(t.entries.c.site == site).order_by(t.entries.c.seq)).mappings().all()
        )
        faults = list(_chain_faults(rows, steps))
        yield from faults
        if not faults:
            yield from _table_faults(tx, site, rows, steps)


def _chain_faults(rows: Sequence[sa.RowMapping], steps: Steps) -> Iterator[str]:
    before = chain.GENESIS
    for expected, row in enumerate(steps(rows), start=1):
        if row["seq"] != expected:
            yield f"entry {expected} is missing: {row['seq']} stands in its place"
            return
        own = chain.link(
            before,
            site=row["site"],
            seq=row["seq"],
            at=row["at"],
            kind=row["kind"],
            body=row["body"],
            person=row["person"],
            cause=row["cause"],
        )
        if own != row["hash"]:
            yield f"entry {row['seq']} ({row['kind']}) or the one before it is not what was written"
            return
        if row["kind"] not in KINDS:
            yield f"entry {row['seq']}: unknown kind {row['kind']}"
        before = row["hash"]


def _table_faults(tx: sa.Connection, site: str, rows: Sequence[sa.RowMapping], steps: Steps) -> Iterator[str]:
    rebuilt = Journal("sqlite://")
    t.metadata.create_all(rebuilt.engine)
    with rebuilt.engine.begin() as fresh:
        for row in steps(rows):
            entry = entry_of(row["kind"], json.loads(row["body"]))
            PROJECTED[type(entry)](fresh, Row(site, row["seq"], row["at"], row["person"]), entry)
        for table in t.PROJECTIONS:
            if fault := _difference(tx, fresh, table, site):
                yield fault
    rebuilt.close()


def _difference(tx: sa.Connection, fresh: sa.Connection, table: sa.Table, site: str) -> str | None:
    keys = [c.name for c in table.primary_key]
    stored, derived = (
        {
            tuple(r[k] for k in keys): dict(r)
            for r in db.execute(sa.select(table).where(table.c.site == site)).mappings()
        }
        for db in (tx, fresh)
    )
    wrong = sorted(k for k in stored.keys() | derived.keys() if stored.get(k) != derived.get(k))
    if not wrong:
        return None
    return f"table {table.name}: row {wrong[0]} is not what the entries say ({len(wrong)} rows differ)"
