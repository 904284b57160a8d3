# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""What the reader knows beside the text: who speaks, when, of which site, and what was said just before.

Everything here is a value handed in; nothing is looked up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sitebot.acts import Act, Unclear


@dataclass(frozen=True, slots=True)
class Gazetteer:
    """The site's own names. Empty for ``sitebot read``: then places, people and irons are whatever the text names."""

    people: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    irons: tuple[str, ...] = ()
    #: What the crew calls things: word said -> name meant.
    nicknames: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Context:
    """The state of the talk as one person sees it."""

    #: Local time of the site, aware.
    now: datetime
    #: crew, lead, inspector, superintendent or stranger.
    role: str = "crew"
    language: str = "en"
    gazetteer: Gazetteer = field(default_factory=Gazetteer)
    #: The same person's last acts of this shift, latest first, as they were settled: a report carries the numbers it was
    #: given, a question its facts, a verdict its numbers.
    last: tuple[Act, ...] = ()
    #: The question the assistant asked and that this text may answer.
    pending: Unclear | None = None
    #: What open reminders ask for: preheat, sample, unplug ...
    reminders: Sequence[str] = ()
    #: Irons that the log shows as on.
    irons_on: tuple[str, ...] = ()
    #: Numbers just made, judged or named on the site, so that "45" can be told from a heat; the highest number given so far.
    highest: int = 0
    #: Rejected splices without a reported redo.
    rejected: tuple[int, ...] = ()
    #: Nobody on the roster is an inspector: the lead's word counts as one.
    lead_inspects: bool = False

    @property
    def judges(self) -> bool:
        """The sender's word on a splice is a verdict."""
        return self.role == "inspector" or (self.role == "lead" and self.lead_inspects)
