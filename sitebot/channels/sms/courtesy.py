"""Who may be written to, and when: opt-outs, first greetings, quiet hours, robots, strangers.

Decisions only, on what is passed in; the channel keeps the rows and sends. 47 CFR 64.1200(a)(10)-(12) is the rule for
opt-outs (any reasonable wording, one confirmation); hours and counts are common practice, and settings.
"""

from __future__ import annotations

import hashlib
import json
from collections import deque
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime, time, timedelta, tzinfo

from sitebot.channels.sms.words import Word

PREFIX = "who/"
#: Who wrote so recently is awake.
AWAKE_FOR = timedelta(hours=1)
#: A number counts as not reached after so many messages in a row that no phone took.
NOT_REACHED_AFTER = 2


def digest(number: str) -> str:
    """Stands for a number that may not be kept."""
    return "#" + hashlib.sha256(number.encode()).hexdigest()[:32]


@dataclass(frozen=True, slots=True)
class Standing:
    """What is kept of a number as long as it may matter; times as ISO text."""

    #: When it asked for silence, and how we know: its own STOP, or the network's refusal.
    stopped: str = ""
    stopped_by: str = ""
    greeted: str = ""
    #: Messages in a row that were not delivered, and when the last was not.
    missed: int = 0
    missed_at: str = ""

    def to_json(self) -> str:
        return json.dumps({k: v for k, v in asdict(self).items() if v})

    @classmethod
    def of(cls, state: Mapping[str, str], number: str) -> Standing:
        """Also of a number that was forgotten: its STOP holds, under its hash."""
        return cls(**json.loads(state.get(PREFIX + number) or state.get(PREFIX + digest(number)) or "{}"))

    def stop(self, now: datetime, by: str) -> Standing:
        return self if self.stopped else replace(self, stopped=now.isoformat(timespec="seconds"), stopped_by=by)

    def resume(self) -> Standing:
        return replace(self, stopped="", stopped_by="")

    def was_reached(self) -> Standing:
        return replace(self, missed=0, missed_at="")

    def was_missed(self, now: datetime) -> Standing:
        return replace(self, missed=self.missed + 1, missed_at=now.isoformat(timespec="seconds"))


def unreachable(state: Mapping[str, str]) -> dict[str, str]:
    """The numbers that cannot be reached by text, with the reason: "stopped", "network" or "not reached".

    For the lead: read from the channel's kept state, so that it needs no running channel.
    """
    found: dict[str, str] = {}
    for key in state:
        if key.startswith(PREFIX) and not key.startswith(PREFIX + "#"):
            number = key.removeprefix(PREFIX)
            standing = Standing.of(state, number)
            if standing.stopped:
                found[number] = "network" if standing.stopped_by == "network" else "stopped"
            elif standing.missed >= NOT_REACHED_AFTER:
                found[number] = "not reached"
    return found


def meant(word: Word | None, standing: Standing) -> Word | None:
    """What a word of the network does for this person; START and YES of somebody who gets texts are his own words."""
    if word in ("start", "resume"):
        return "start" if standing.stopped else None
    return word


@dataclass(frozen=True, slots=True)
class QuietHours:
    """No text that the assistant starts by itself goes out between ``start`` and ``end``, in the site's zone."""

    start: time
    end: time
    zone: tzinfo

    def until(self, now: datetime) -> datetime | None:
        """When they are over; None where they are not on."""
        local = now.astimezone(self.zone)
        clock = local.time().replace(tzinfo=None)
        over_midnight = self.start > self.end
        inside = clock >= self.start or clock < self.end if over_midnight else self.start <= clock < self.end
        if not inside:
            return None
        day = local.date() + timedelta(days=int(over_midnight and clock >= self.start))
        return datetime.combine(day, self.end, tzinfo=self.zone).astimezone(now.tzinfo)


class Robots:
    """Ends talks with machines: what answers itself, repeats itself at machine speed, or never ends.

    Counts are held in memory only: a restart forgives.
    """

    HOUR = timedelta(hours=1)
    #: Faster than a thumb, after a text of ours.
    AT_ONCE = timedelta(seconds=12)

    def __init__(self, replies_per_hour: int, strangers_per_hour: int) -> None:
        self._most = {True: replies_per_hour, False: strangers_per_hour}
        self._heard: dict[str, deque[tuple[datetime, str]]] = {}
        self._sent: dict[str, deque[tuple[datetime, str]]] = {}

    def heard(self, number: str, text: str, now: datetime) -> None:
        self._put(self._heard, number, text, now)

    def sent(self, number: str, text: str, now: datetime) -> None:
        self._put(self._sent, number, text, now)

    def last_heard(self, number: str) -> datetime | None:
        past = self._heard.get(number)
        return past[-1][0] if past else None

    def is_robot(self, number: str, now: datetime, known: bool) -> str:
        """Why no reply should go there; "" where it may."""
        sent = [x for x in self._sent.get(number, ()) if now - x[0] < self.HOUR]
        heard = [x for x in self._heard.get(number, ()) if now - x[0] < self.HOUR]
        if len(sent) >= self._most[known]:
            return "too many replies within an hour"
        if heard and any(heard[-1][1] == text for _, text in sent):
            return "it sends back what we sent"
        same = [at for at, text in heard if text == heard[-1][1]] if heard else []
        if not known and len(same) > 2:
            return "the same text again and again"
        if len(same) > 3 and all(self._follows_ours(at, sent) for at in same[-3:]):
            return "the same text at once after each of ours"
        return ""

    def _follows_ours(self, at: datetime, sent: list[tuple[datetime, str]]) -> bool:
        return any(timedelta(0) <= at - ours < self.AT_ONCE for ours, _ in sent)

    def _put(self, book: dict[str, deque[tuple[datetime, str]]], number: str, text: str, now: datetime) -> None:
        plain = " ".join(text.casefold().split())
        book.setdefault(number, deque(maxlen=100)).append((now, plain))
        while len(book) > 1000:
            book.pop(next(iter(book)))
