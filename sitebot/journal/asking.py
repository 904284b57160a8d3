"""How the log is asked inside one transaction: a question asked twice is put to the database once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import chain
from sitebot.journal import tables as t

P = ParamSpec("P")
R = TypeVar("R")
S = TypeVar("S", bound="Asking")

#: Entries that change nothing but splices, and the questions whose answers they change.
ABOUT_SPLICES = (
    e.SpliceReported,
    e.SpliceCorrected,
    e.VerdictGiven,
    e.VerdictRelayed,
    e.FindingNoted,
    e.CutOut,
    e.WishKept,
)
SPLICE_QUESTIONS = frozenset(
    {"_splices", "highest", "counts", "totals", "history", "relayed", "places_used", "damages"},
)


def once(method: Callable[Concatenate[S, P], R]) -> Callable[Concatenate[S, P], R]:
    """The same question twice in one transaction is asked of the database once, unless something was recorded."""
    name = method.__name__

    @wraps(method)
    def known(self: S, /, *args: P.args, **kwargs: P.kwargs) -> R:
        key = (name, args, tuple(kwargs.items()))
        if key not in self.known:
            self.known[key] = method(self, *args, **kwargs)
        found: Any = self.known[key]
        return list(found) if isinstance(found, list) else found  # type: ignore[return-value]

    return known


def of_day(column: sa.Column[Any], day: str | None) -> tuple[sa.ColumnElement[bool], ...]:
    """Of one day, or of all."""
    return () if day is None else (column == day,)


class Asking:
    """Answers from the tables of one site. Good for one transaction."""

    def __init__(self, tx: sa.Connection, site: str) -> None:
        self._tx = tx
        self._site = site
        #: Answers of this transaction, by question.
        self.known: dict[tuple[Any, ...], Any] = {}

    def forget(self, entries: Iterable[e.Entry]) -> None:
        """Something was recorded: what it may have changed is asked anew."""
        if all(isinstance(entry, ABOUT_SPLICES) for entry in entries):
            self.known = {key: answer for key, answer in self.known.items() if key[0] not in SPLICE_QUESTIONS}
        else:
            self.known = {}

    def head(self) -> tuple[int, str]:
        """How many entries there are now, and the hash of the last. Never remembered: every entry moves it."""
        h = t.heads.c
        row = self._tx.execute(sa.select(h.seq, h.hash).where(h.site == self._site)).first()
        return (row.seq, row.hash) if row else (0, chain.GENESIS)

    def _rows(self, query: sa.Select[Any]) -> Sequence[sa.RowMapping]:
        return self._tx.execute(query).mappings().all()

    def _select(self, table: sa.Table, *where: sa.ColumnElement[bool]) -> sa.Select[Any]:
        return sa.select(table).where(table.c.site == self._site, *where)
