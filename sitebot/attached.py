"""Photos on the road of their message: looked at, then told with the splice that the message, the one replied to or
the one a minute before names. What is recorded of them stands in respond/photos.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from datetime import timedelta

from sitebot.acts import REPORTS, Act, Reading, Unclear
from sitebot.journal import Turn
from sitebot.message import Attached, Incoming
from sitebot.photos import MOST_BYTES, Folder, NotTaken, Photo, examine
from sitebot.replies import Step
from sitebot.respond import Desk
from sitebot.respond.photos import named
from sitebot.understand.context import Context

Reader = Callable[[str, Context], Reading]
#: A message so close before a photo, or after it, speaks of it.
NEAR = timedelta(seconds=60)
PHOTO = "report_photo"
#: A photo's caption answers this question, asked or not.
WHICH = Unclear("number", choices=((Act(PHOTO),),))


class Attachments:
    """The photos of one message, and those of the same person that still wait for their splice."""

    def __init__(self, turn: Turn, desk: Desk, message: Incoming, row: int, folder: Folder | None) -> None:
        self._turn, self._desk, self._message, self._row = turn, desk, message, row
        # Nothing of a stranger is looked at; he gets his one refusal for the text.
        looked = [look(a, folder) for a in turn.attached(row)] if desk.person else []
        self._photos = [p for p in looked if isinstance(p, Photo)]
        #: What another message says, read as if it stood alone.
        self._alone: Callable[[str], Reading] = lambda text: Reading()
        self._refused = [p.why for p in looked if isinstance(p, NotTaken)]

    @property
    def _came(self) -> bool:
        return bool(self._photos or self._refused)

    def read(self, reader: Reader, context: Context) -> Reading:
        """The text as ever, and one act more for the photos."""
        text = self._message.text
        self._alone = lambda said: reader(said, replace(context, pending=None))
        if not self._came:
            return self._settled(_read(reader, text, context), context)
        reading = Reading()
        if text.strip():
            reading = _read(reader, text, replace(context, pending=context.pending or WHICH))
        told = next((a for a in reading.acts if a.name == PHOTO), Act(PHOTO))
        others = tuple(a for a in reading.acts if a.name != PHOTO)
        fresh = {"new": [asdict(p) for p in self._photos], "refused": self._refused}
        # A caption that nobody understands is no reason for a second question.
        unclear = reading.unclear if reading.unclear and reading.unclear.choices else None
        return replace(reading, acts=(*others, Act(PHOTO, {**told.facts, **fresh})), unclear=unclear)

    def _settled(self, reading: Reading, context: Context) -> Reading:
        """A text that names a splice right after a photo that waits for one."""
        if not reading.acts or any(a.name == PHOTO for a in reading.acts):
            return reading
        waiting = [
            p.sha256
            for p in self._turn.log.photos(day=self._desk.day)
            if p.waits and p.by == self._desk.me and (_is_asked(context) or self._turn.now - p.at <= NEAR)
        ]
        return replace(reading, acts=(*reading.acts, Act(PHOTO, {"photos": waiting}))) if waiting else reading

    def completed(self, act: Act, steps: Sequence[Step]) -> Act:
        """The act with what the photo shows: told of it, else in the same message, else near it."""
        if act.name != PHOTO or named(act.facts):
            return act
        found = next((facts for s in steps if (facts := named({**s.act.facts, **s.answer.facts}, s.act.name))), {})
        if not found and act.facts.get("new"):
            found = {"numbers": numbers} if (numbers := self._near()) else {}
        return replace(act, facts={**act.facts, **found})

    def _near(self) -> list[int]:
        """Splices of the message replied to, else of the same person's a minute ago; or of their words."""
        for numbers, text in self._turn.near(self._message, self._row, NEAR):
            if not numbers and text.strip():
                numbers = next((n for a in self._alone(text).acts if (n := named(a.facts).get("numbers"))), [])
            if numbers:
                return numbers
        return []


def look(file: Attached, folder: Folder | None) -> Photo | NotTaken:
    """One file that came."""
    if not file.sha256:
        return NotTaken("no_folder" if folder is None else "too_big" if file.size > MOST_BYTES else "empty")
    data = folder.read(file.sha256) if folder else None
    found = NotTaken("empty") if data is None else examine(data)
    if folder and isinstance(found, Photo):
        folder.small(found.sha256)  # now, so that a report of hundreds need not wait for it
    return found


def _read(reader: Reader, text: str, context: Context) -> Reading:
    """A number alone answers our question about a photo; a report or a question stays what it is."""
    reading = reader(text, context)
    if not _is_asked(context) or [a.name for a in reading.acts] != [PHOTO] or reading.acts[0].facts.get("caption"):
        return reading
    alone = reader(text, replace(context, pending=None))
    says_more = "?" in text or any(a.name in REPORTS for a in alone.acts)
    return alone if says_more and alone.acts else reading


def _is_asked(context: Context) -> bool:
    """Is our last question the one about a photo?"""
    choices = context.pending.choices if context.pending else ()
    return bool(choices) and bool(choices[0]) and choices[0][0].name == PHOTO
