"""Is the log whole: walk the chain, rebuild the derived tables from the entries, compare. Changes nothing."""

from __future__ import annotations

import hmac
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime
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
    with journal.reading() as tx:
        # Times as they are stored: a changed byte need not be a time any more.
        columns = [sa.type_coerce(c, sa.String).label(c.name) if c.name == "at" else c for c in t.entries.c]
        rows = (
            tx.execute(sa.select(*columns).where(t.entries.c.site == site).order_by(t.entries.c.seq)).mappings().all()
        )
        faults = list(_chain_faults(rows, steps)) or list(_head_faults(tx, site, rows, journal.key))
        yield from faults
        if not faults:
            yield from _table_faults(tx, site, rows, steps)


def photo_faults(journal: Journal, steps: Steps = lambda rows: rows) -> Iterator[str]:
    """Every photo that an entry names and that is not there byte for byte."""
    with journal.reading() as tx:
        named = sorted(set(tx.execute(sa.select(t.photos.c.sha256)).scalars()))
    for name in steps(named):
        fault = journal.photos.fault(name) if journal.photos else "is not there: no folder is named"
        if fault:
            yield f"photo {name} {fault}"


def seal_fault(journal: Journal, site: str, seal: str) -> str | None:
    """Why a seal given out earlier does not hold on this log; None where the log still contains what it sealed.

    A seal is "count-hash" as it was texted, or the hash as a report prints it, or its first 16 digits and more.
    """
    count, _, digest = seal.strip().casefold().rpartition("-")
    if not (16 <= len(digest) <= 64 and set(digest) <= set("0123456789abcdef")) or (count and not count.isdecimal()):
        return "that is no seal: copy it whole, like 1234-0123456789abcdef01234567, or the hash from the report"
    n = t.entries.c
    with journal.reading() as tx:
        found = tx.execute(sa.select(n.seq).where(n.site == site, n.hash.startswith(digest))).scalars().all()
        last = tx.execute(sa.select(sa.func.max(n.seq)).where(n.site == site)).scalar() or 0
    if count and int(count) > last:
        return f"the seal is of {count} entries, the log has only {last}: entries are missing at the end"
    if not found or (count and int(count) not in found):
        return "no entry has that hash" + (f": entry {count} is not the one that was sealed" if count else "")
    return None


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


def _head_faults(tx: sa.Connection, site: str, rows: Sequence[sa.RowMapping], key: bytes) -> Iterator[str]:
    """The signed head says how many entries there were: a tail cut off whole leaves no gap in the chain."""
    head = tx.execute(sa.select(t.heads).where(t.heads.c.site == site)).mappings().first()
    last = (rows[-1]["seq"], rows[-1]["hash"]) if rows else (0, chain.GENESIS)
    if head is None:
        if rows:
            yield "the signed head of the log is missing"
        return
    if not hmac.compare_digest(head["signature"], chain.sign(key, site, head["seq"], head["hash"])):
        yield "the head of the log was not signed with this key"
    elif (head["seq"], head["hash"]) != last:
        yield f"the log ends at entry {last[0]}, the signed head says {head['seq']}: entries are missing at the end"


def _table_faults(tx: sa.Connection, site: str, rows: Sequence[sa.RowMapping], steps: Steps) -> Iterator[str]:
    rebuilt = Journal("sqlite://")
    t.metadata.create_all(rebuilt.engine)
    with rebuilt.engine.begin() as fresh:
        for row in steps(rows):
            entry = entry_of(row["kind"], json.loads(row["body"]))
            PROJECTED[type(entry)](
                fresh, Row(site, row["seq"], datetime.fromisoformat(row["at"]), row["person"]), entry
            )
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
