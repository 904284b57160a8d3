"""What an answer is made from and what it is made of.

A handler of respond/ takes an act and the ``Desk`` and returns an ``Answer``. It reads the log and the rules and
writes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal

from sitebot.acts import Act, Unclear
from sitebot.message import Language, Person, Say
from sitebot.record import shift_day
from sitebot.respond.shifts import crew_of, hours_of

if TYPE_CHECKING:
    from sitebot.entries import Entry
    from sitebot.record import Log
    from sitebot.rulebook import Rulebook
    from sitebot.site import Site

Outcome = Literal["answer", "record", "ask_back", "refuse", "ignore"]


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything a handler may look at."""

    #: Now and the time the text was written, both aware and in the site's zone.
    now: datetime
    said_at: datetime
    #: Who speaks; None is a stranger.
    person: Person | None
    site: Site
    log: Log
    rules: Rulebook
    #: The same person's last acts of this shift, latest first, completed with what was made of them.
    last: tuple[Act, ...] = ()
    #: Where the message came from.
    address: str = ""
    #: What open reminders ask for, latest first.
    reminders: Sequence[str] = ()

    @property
    def role(self) -> str:
        return self.person.role if self.person else "stranger"

    @property
    def me(self) -> str:
        return self.person.id if self.person else ""

    @property
    def day(self) -> str:
        """The shift day this message belongs to, as an ISO date."""
        return self.day_of(self.said_at)

    def day_of(self, moment: datetime) -> str:
        start, end = hours_of(crew_of(self.me, self.site), self.site)
        return shift_day(moment.astimezone(self.site.tz), start, end).isoformat()

    def with_role(self, *roles: str) -> tuple[Person, ...]:
        return tuple(p for p in self.log.people() if p.role in roles)

    @property
    def lead_inspects(self) -> bool:
        """No inspector on the roster: then the lead's verdict counts."""
        return not self.with_role("inspector")

    @property
    def may_judge(self) -> bool:
        return self.role == "inspector" or (self.role == "lead" and self.lead_inspects)

    def judges(self) -> tuple[Person, ...]:
        """Who gives verdicts here."""
        return self.with_role("inspector") or self.with_role("lead")


@dataclass(frozen=True, slots=True)
class Notice:
    """Something said to somebody else because of this message; ``to`` are person ids."""

    to: tuple[str, ...]
    says: tuple[Say, ...]
    kind: Literal["notice", "reminder"] = "notice"
    #: An address that is nobody's yet, in place of people, and the language to write in.
    address: str = ""
    language: Language = "en"
    #: A file that goes with it, for channels that carry one; named like ``Answer.picture``.
    picture: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What one act brings: what to say, what happened, who else hears."""

    says: tuple[Say, ...] = ()
    outcome: Outcome = "answer"
    entries: tuple[Entry, ...] = ()
    notices: tuple[Notice, ...] = ()
    #: Second thoughts: said where they leave the reply in one part of a text, else with "more" and "why?".
    aside: tuple[Say, ...] = ()
    #: What "why?" gives after this: arithmetic, rule and source.
    why: tuple[Say, ...] = ()
    #: Facts worked out here (miter_deg, verdict, numbers given ...): they complete the act's own for follow-ups.
    facts: Mapping[str, Any] = field(default_factory=dict)
    #: A question back, which the next text of this person may settle.
    asks: Unclear | None = None
    #: Name of a drawing and its arguments, for channels that carry pictures.
    picture: Mapping[str, Any] | None = None
