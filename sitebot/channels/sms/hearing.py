"""What comes in: parts joined to messages, the network's words obeyed, all committed before the line acknowledges.

What a message means for the work is read elsewhere; here only STOP, START, HELP and half-received texts are answered.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

import structlog

from sitebot.channels.sms import joining
from sitebot.channels.sms.courtesy import PREFIX, Robots, Standing, meant
from sitebot.channels.sms.joining import Whole
from sitebot.channels.sms.kept import ANSWERED, Change, Kept, OwnText, own_texts, put_own_texts, remember
from sitebot.channels.sms.line import Heard
from sitebot.channels.sms.pace import Urgency
from sitebot.channels.sms.words import Phrase, phrase, word_of
from sitebot.message import Incoming, Language
from sitebot.numbers import e164

NAME = "sms"
HALVES = "halves"
#: A network stamp further off than this is a clock that goes wrong, and is not believed.
_LATEST_STAMP = timedelta(minutes=5)
_OLDEST_STAMP = timedelta(days=7)
log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Contact:
    """What the roster says of a number."""

    language: Language
    #: He asked, in whatever words or channel, that the assistant start no texts to him.
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class Here:
    """The site as the channel has to name it."""

    site: str
    zone: tzinfo
    region: str = "US"
    language: Language = "en"
    emergency: str = ""
    address: str = ""


#: Who has this number, or None.
Who = Callable[[str], Contact | None]


@dataclass(frozen=True, slots=True)
class Voice:
    """The channel's own texts, in the language of who gets them."""

    here: Here
    who: Who
    name: str
    contact: str

    def text(self, key: Phrase, number: str) -> str:
        contact = self.who(number)
        values: Mapping[str, str] = {
            "name": self.name,
            "contact": self.contact,
            "site": self.here.site,
            "emergency": self.here.emergency,
            "address": self.here.address,
        }
        return phrase(key, contact.language if contact else self.here.language, values)


class Hearing:
    """Takes parts from the line."""

    def __init__(
        self,
        kept: Kept,
        voice: Voice,
        robots: Robots,
        own_numbers: Sequence[str],
        now: Callable[[], datetime],
        half_after: timedelta,
    ) -> None:
        self._kept, self._voice, self._robots = kept, voice, robots
        self._own, self._now, self._half_after = frozenset(own_numbers), now, half_after

    async def take(self, heard: Sequence[Heard]) -> None:
        """Commit parts and what they complete; returns when nothing of it can be lost any more."""
        async with self._kept.lock:
            now = self._now()
            change = self._kept.change()
            groups, messages = joining.of_json(change.get(HALVES, "")), list[Incoming]()
            for part in heard:
                change.update(part.state)
                if (known := self._numbered(part)) is None:
                    continue
                groups, whole = joining.take(groups, known, now)
                if whole:
                    messages.append(_incoming(whole, now))
                    self._obey(whole, change, now)
            change[HALVES] = joining.to_json(groups)
            await self._kept.commit(change.maps[0], messages)
        for message in messages:
            self._robots.heard(message.sender, message.text, now)

    def _numbered(self, part: Heard) -> Heard | None:
        """With the sender as E.164; None for short codes, names and ourselves, which nobody on a roster is."""
        number = e164(part.sender, self._voice.here.region)
        if number is None or number in self._own:
            log.info("left out: no person's number", sender=part.sender)
            return None
        return replace(part, sender=number)

    def _obey(self, whole: Whole, change: Change, now: datetime) -> None:
        """The network's words are answered here and by nobody else."""
        standing = Standing.of(change, whole.sender)
        if standing.missed:
            # Who writes has a phone that works: he counts as reached until texts fail again.
            standing = standing.was_reached()
            change[PREFIX + whole.sender] = standing.to_json()
        word = meant(word_of(whole.text), standing)
        if word is None:
            return
        remember(change, ANSWERED, whole.id)
        said: Phrase | None = None
        match word:
            case "stop" if not standing.stopped:
                standing, said = standing.stop(now, "person"), "stopped"
            case "start":
                standing, said = standing.resume(), "started"
            case "help" if not self._robots.is_robot(whole.sender, now, self._voice.who(whole.sender) is not None):
                said = "help"
        change[PREFIX + whole.sender] = standing.to_json()
        if said:
            self._say(change, said, whole.sender, whole.id)

    def _say(self, change: Change, key: Phrase, number: str, cause: str) -> None:
        urgency = Urgency.CONFIRMATION if key != "again" else Urgency.REPLY
        text = OwnText(f"{key}-{cause}", number, self._voice.text(key, number), urgency)
        waiting = own_texts(change)
        if self._kept.ledger.find(text.ref) is None and text.ref not in [o.ref for o in waiting]:
            put_own_texts(change, [*waiting, text])

    async def expire(self) -> None:
        """Ask for a repeat of what was half-received. It is not used, nor is a part that comes still later."""
        async with self._kept.lock:
            now = self._now()
            change = self._kept.change()
            groups, halves = joining.expire(joining.of_json(change.get(HALVES, "")), now, self._half_after)
            for half in halves:
                known = self._voice.who(half.sender) is not None
                stopped = Standing.of(change, half.sender).stopped
                if not stopped and not self._robots.is_robot(half.sender, now, known):
                    cause = "|".join(i for i, _ in half.parts.values())
                    self._say(change, "again", half.sender, hashlib.sha256(cause.encode()).hexdigest()[:16])
            if halves:
                change[HALVES] = joining.to_json(groups)
                await self._kept.commit(change.maps[0])


def _incoming(whole: Whole, now: datetime) -> Incoming:
    believed = whole.at is not None and -_LATEST_STAMP <= now - whole.at <= _OLDEST_STAMP
    return Incoming(
        channel=NAME,
        external_id=whole.id,
        sender=whole.sender,
        text=whole.text,
        received_at=now,
        written_at=whole.at if believed and whole.at else None,
        media=whole.source.media,
    )
