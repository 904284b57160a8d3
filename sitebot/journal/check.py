"""Is the log whole: walk the chain, rebuild the derived tables from the entries, compare. Changes nothing."""

from __future__ import annotations

import heapq
import hmac
import json
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from itertools import groupby
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

from sitebot.entries import KINDS, entry_of
from sitebot.journal import chain
from sitebot.journal import tables as t
from sitebot.journal.engine import TEMPORARY
from sitebot.journal.projections import PROJECTED, Row
from sitebot.journal.store import Journal

#: Shows how far a walk is: what is walked, and how many steps that takes.
Steps = Callable[[Iterable[Any], int], Iterable[Any]]
#: Rows held in memory at a time.
AT_ONCE = 1000


def _silent(steps: Iterable[Any], _: int) -> Iterable[Any]:
    return steps


def check(journal: Journal, site: str, steps: Steps = _silent) -> Iterator[str]:
    """Every fault found, in words; nothing where the log is whole. The entries are walked, never all held."""
    with journal.reading() as tx:
        walk = _Walk(tx, site, steps)
        faults = list(walk.chain_faults()) or list(_head_faults(tx, site, walk.last, journal.key))
        yield from faults
        if not faults:
            yield from _table_faults(tx, site, walk)


class _Walk:
    """The entries of a site, from the first to the last, as often as wanted."""

    def __init__(self, tx: sa.Connection, site: str, steps: Steps) -> None:
        self._tx, self._site, self._steps = tx, site, steps
        count = sa.select(sa.func.count()).select_from(t.entries).where(t.entries.c.site == site)
        self._count = int(tx.execute(count).scalar_one())
        #: How many entries were walked, and the hash of the last.
        self.last = (0, chain.GENESIS)

    def entries(self) -> Iterator[sa.RowMapping]:
        # Times as they are stored: a changed byte need not be a time any more.
        columns = [sa.type_coerce(c, sa.String).label(c.name) if c.name == "at" else c for c in t.entries.c]
        query = sa.select(*columns).where(t.entries.c.site == self._site).order_by(t.entries.c.seq)
        rows = self._tx.execute(query, execution_options={"yield_per": AT_ONCE}).mappings()
        yield from self._steps(rows, self._count)

    def chain_faults(self) -> Iterator[str]:
        for row in self.entries():
            seq, before = self.last
            if row["seq"] != seq + 1:
                yield f"entry {seq + 1} is missing: {row['seq']} stands in its place"
                return
            if _hash(before, row) != row["hash"]:
                yield f"entry {row['seq']} ({row['kind']}) or the one before it is not what was written"
                return
            if row["kind"] not in KINDS:
                yield f"entry {row['seq']}: unknown kind {row['kind']}"
            self.last = (row["seq"], row["hash"])


def _hash(before: str, row: sa.RowMapping) -> str:
    return chain.link(before, **{name: row[name] for name in ("site", "seq", "at", "kind", "body", "person", "cause")})


def photo_faults(journal: Journal, steps: Steps = _silent) -> Iterator[str]:
    """Every photo that an entry names and that is not there byte for byte."""
    with journal.reading() as tx:
        named = sorted(set(tx.execute(sa.select(t.photos.c.sha256)).scalars()))
    for name in steps(named, len(named)):
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


def _head_faults(tx: sa.Connection, site: str, last: tuple[int, str], key: bytes) -> Iterator[str]:
    """The signed head says how many entries there were: a tail cut off whole leaves no gap in the chain."""
    head = tx.execute(sa.select(t.heads).where(t.heads.c.site == site)).mappings().first()
    if head is None:
        if last[0]:
            yield "the signed head of the log is missing"
        return
    if not hmac.compare_digest(head["signature"], chain.sign(key, site, head["seq"], head["hash"])):
        yield "the head of the log was not signed with this key"
    elif (head["seq"], head["hash"]) != last:
        yield f"the log ends at entry {last[0]}, the signed head says {head['seq']}: entries are missing at the end"


def _table_faults(tx: sa.Connection, site: str, walk: _Walk) -> Iterator[str]:
    rebuilt = Journal(TEMPORARY)
    t.metadata.create_all(rebuilt.engine)
    with rebuilt.engine.begin() as fresh:
        for row in walk.entries():
            entry = entry_of(row["kind"], json.loads(row["body"]))
            PROJECTED[type(entry)](
                fresh, Row(site, row["seq"], datetime.fromisoformat(row["at"]), row["person"]), entry
            )
        for table in t.PROJECTIONS:
            if fault := _difference(tx, fresh, table, site):
                yield fault
    rebuilt.close()


def _difference(tx: sa.Connection, fresh: sa.Connection, table: sa.Table, site: str) -> str | None:
    """The first row that differs, and how many do; both tables are walked side by side in the order of their keys."""
    first, count = None, 0
    key_of = itemgetter(0)
    both = heapq.merge(_keyed(tx, table, site), _keyed(fresh, table, site), key=key_of)
    for key, group in groupby(both, key_of):
        stored, *derived = [dict(row) for _, row in group]
        if derived != [stored]:
            first, count = first or key, count + 1
    if first is None:
        return None
    named = tuple(value for _, value in first)
    return f"table {table.name}: row {named} is not what the entries say ({count} rows differ)"


def _keyed(
    db: sa.Connection, table: sa.Table, site: str
) -> Iterator[tuple[tuple[tuple[bool, Any], ...], sa.RowMapping]]:
    """Rows by their keys; a number that somebody made a text stands behind the numbers, as the database has it."""
    query = sa.select(table).where(table.c.site == site).order_by(*table.primary_key)
    for row in db.execute(query, execution_options={"yield_per": AT_ONCE}).mappings():
        yield tuple((isinstance(v := row[k.name], str), v) for k in table.primary_key), row
