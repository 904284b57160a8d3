"""Words of a report in its language: nouns, sentences, times. No figure is worked out here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo

from sitebot.message import Language, Say, Term
from sitebot.wording import render
from sitebot.wording.render import clock_text, date_text, list_text, terms, value_text

#: Stands where nobody reported anything.
NOTHING = "-"


@dataclass(frozen=True, slots=True)
class Words:
    """One language, at one site's clock."""

    language: Language
    zone: tzinfo

    def label(self, key: str) -> str:
        """A fixed word of reports: ``report.<key>``."""
        return value_text(Term(f"report.{key}"), self.language)

    def labels(self, keys: str) -> tuple[str, ...]:
        return tuple(self.label(k) for k in keys.split())

    def term(self, key: str, count: int = 1) -> str:
        return value_text(Term(key, count), self.language)

    def has(self, key: str) -> bool:
        return key in terms(self.language)

    def kinds(self, counts: Iterable[tuple[str, int]]) -> str:
        """ "3 butts, 1 tee" """
        return ", ".join(f"{n} {self.term(f'kind.{kind}', n)}" for kind, n in counts)

    def say(self, key: str, **values: object) -> str:
        return render(Say(f"report.{key}", values), self.language)

    def text(self, say: Say | Term) -> str:
        return value_text(say, self.language)

    def names(self, names: Iterable[str]) -> str:
        return list_text(list(names), self.language)

    def date(self, day: date | str) -> str:
        """With its year, since a report is read years later."""
        day = date.fromisoformat(day) if isinstance(day, str) else day
        return f"{date_text(day, self.language)} {day.year}"

    def clock(self, moment: datetime | None) -> str:
        return clock_text(moment.astimezone(self.zone).time()) if moment else NOTHING

    def moment(self, moment: datetime, day: str) -> str:
        """A time of day; with month and day where that is another than the report's."""
        local = moment.astimezone(self.zone)
        clock = clock_text(local.time())
        return (
            clock
            if local.date().isoformat() == day
            else f"{date_text(local.date(), self.language).split(' ', 1)[1]} {clock}"
        )


def time_of(clock: str | None) -> time | None:
    """The time of "HH:MM"."""
    return time.fromisoformat(clock) if clock else None


def number(value: float | None) -> str:
    """A reading without needless zeros."""
    return NOTHING if value is None else f"{value:.1f}".removesuffix(".0")
