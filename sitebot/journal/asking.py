"""How the log is asked: a question asked twice is put to the database once, until something is recorded.

Answers outlive their transaction with the head of the log they were read under (``Known``): what follows from entries
alone cannot have changed while the head has not, whoever else writes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sized
from dataclasses import dataclass
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal import chain
from sitebot.journal import tables as t
from sitebot.journal.prepared import Found, Prepared, selecting

P = ParamSpec("P")
R = TypeVar("R")
S = TypeVar("S", bound="Asking")

#: So many sites' answers are kept from one turn to the next.
MOST_SITES = 200
#: So many answers of a site, none of them longer, are kept from one transaction to the next.
MOST_ANSWERS, MOST_ROWS = 200, 500
#: Entries that change nothing but splices; nothing but irons, samples and the day.
ABOUT_SPLICES = (
    e.SpliceReported,
    e.SpliceCorrected,
    e.VerdictGiven,
    e.VerdictRelayed,
    e.FindingNoted,
    e.CutOut,
    e.WishKept,
)
ABOUT_DAYS = (
    e.SampleReported,
    e.WeatherTold,
    e.IronReported,
    e.DayPlanned,
    e.DayWished,
    e.CrewSet,
    e.Acknowledged,
    e.Reminded,
)
#: Questions by what their answers rest on. One that stands in none of these is asked anew after every entry.
OF_SPLICES = frozenset(
    {
        "splice",
        "splices",
        "pending",
        "redos_of",
        "open_rework",
        "highest",
        "counts",
        "totals",
        "history",
        "relayed",
        "places_used",
        "damages",
    },
)
OF_DAYS = frozenset(
    {"samples", "weather", "iron_events", "irons", "day_changes", "crew", "reminded", "acknowledgements"},
)
OF_THE_SITE = frozenset(
    {
        "_all_people",
        "names",
        "filed",
        "asked_address",
        "next_person",
        "stopped",
        "unreached",
        "settings",
        "site",
        "plan",
        "filed_plan",
        "nicknames",
        "releases",
        "pours",
        "photos",
    },
)
#: What is still known after an entry of a kind.
KEPT = ((ABOUT_SPLICES, OF_DAYS | OF_THE_SITE), (ABOUT_DAYS, OF_SPLICES | OF_THE_SITE))


@dataclass(frozen=True, slots=True)
class Known:
    """Answers, and the head of the log under which they hold."""

    head: tuple[int, str]
    answers: Mapping[tuple[Any, ...], Any]


class Remembered:
    """What was read of each site when its head was last seen; the sites longest not asked for go first."""

    def __init__(self) -> None:
        self._sites: dict[str, Known] = {}

    def take(self, site: str) -> Known | None:
        """Taken out: what a turn that fails has read of its own entries never was."""
        return self._sites.pop(site, None)

    def put(self, site: str, known: Known | None) -> None:
        while len(self._sites) >= MOST_SITES:
            self._sites.pop(next(iter(self._sites)))
        if known:
            self._sites[site] = known


def once(method: Callable[Concatenate[S, P], R]) -> Callable[Concatenate[S, P], R]:
    """The same question twice is asked of the database once, unless something was recorded."""
    name = method.__name__

    @wraps(method)
    def known(self: S, /, *args: P.args, **kwargs: P.kwargs) -> R:
        key = (name, args, tuple(kwargs.items()))
        if key not in self.known:
            self.known[key] = method(self, *args, **kwargs)
        found: Any = self.known[key]
        return list(found) if isinstance(found, list) else found  # type: ignore[return-value]

    return known


class Asking:
    """Answers from the tables of one site. Good for one transaction."""

    def __init__(self, tx: sa.Connection, site: str) -> None:
        self._tx = tx
        self._site = site
        #: Answers by question.
        self.known: dict[tuple[Any, ...], Any] = {}

    def forget(self, entries: Iterable[e.Entry]) -> None:
        """Something was recorded: what it may have changed is asked anew."""
        for entry in entries:
            kept = next((questions for kinds, questions in KEPT if isinstance(entry, kinds)), frozenset[str]())
            self.known = {key: answer for key, answer in self.known.items() if key[0] in kept}

    def worth_keeping(self) -> Mapping[tuple[Any, ...], Any]:
        """The answers that the next transaction may want: not those of a long report, nor all of a long life."""
        if len(self.known) > MOST_ANSWERS:
            return {}
        return {k: v for k, v in self.known.items() if not (isinstance(v, Sized) and len(v) > MOST_ROWS)}

    def head(self) -> tuple[int, str]:
        """How many entries there are now, and the hash of the last. Never remembered: every entry moves it."""
        row = selecting(t.heads).first(self._tx, b_site=self._site)
        return (row["seq"], row["hash"]) if row else (0, chain.GENESIS)

    def _of(self, table: sa.Table, order: str = "", **told: Any) -> list[Found]:
        """The site's rows with these columns; what is None may be anything."""
        told = {name: value for name, value in told.items() if value is not None}
        values = {f"b_{name}": value for name, value in told.items()}
        return selecting(table, tuple(told), order).all(self._tx, b_site=self._site, **values)

    def _ask(self, question: Prepared, **values: Any) -> list[Found]:
        return question.all(self._tx, b_site=self._site, **values)
