"""What a kept message asks of us: a text, a text changed, a text taken back, a sign, something nobody could read.

Everything ends as a reading for the ordinary road, as a ready answer, or as nothing: then it is left alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from sitebot.acts import Act, Reading
from sitebot.journal import Turn
from sitebot.journal.traces import Kept
from sitebot.message import Incoming, Say
from sitebot.overheard import meant_for_us
from sitebot.respond import Answer, Desk
from sitebot.revised import edited, taken_back
from sitebot.talks import Talk
from sitebot.understand.context import Context

#: A thumbs-up and its kin; a channel brings them in one colour.
YES = frozenset("\U0001f44d\U0001f44c✅✔")
NO = frozenset("\U0001f44e❌✖")
#: Who cannot be read is asked to write again this often at most.
ASK_AGAIN = timedelta(hours=1)
#: Older talk is tidied up without being asked about it.
TIDY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Ear:
    """Hears one message."""

    message: Incoming
    row: int
    turn: Turn
    desk: Desk
    talk: Talk
    context: Context
    reader: Callable[[str, Context], Reading]

    def hear(self, own: Callable[[Context], Reading]) -> Reading | Answer | None:
        """What is asked of us; None: leave it alone. ``own`` reads the message itself, with what came with it."""
        if self.message.unreadable:
            return self._unreadable()
        if self.message.reaction:
            return self._sign()
        if self.message.retracts:
            return self._taken_back()
        if self.message.edits:
            return self._edited(own)
        return self._text(self.message, own)

    @property
    def _alone(self) -> Context:
        """As if nothing had been said before."""
        return replace(self.context, last=(), pending=None, reminders=())

    def _text(self, message: Incoming, own: Callable[[Context], Reading]) -> Reading | None:
        reading = own(self.context)
        alone = own(self._alone) if not message.addressed else reading
        return meant_for_us(message, reading, alone, self.talk, self.desk)

    def _unreadable(self) -> Answer | None:
        last = self.talk.unread_at
        if self.desk.person is None or (last and self.desk.now - last < ASK_AGAIN):
            return None
        return Answer((Say("rooms.write_again"),), asks=self.talk.pending)

    def _first(self, external_id: str) -> Kept | None:
        """The sender's own message of that id."""
        first = self.turn.traces.heard(self.message.channel, external_id)
        return first if first and first.message.sender == self.message.sender else None

    def _edited(self, own: Callable[[Context], Reading]) -> Reading | Answer | None:
        first = self._first(self.message.edits)
        if first is None:
            return self._text(self.message, own)
        versions = self.turn.traces.versions(first, self.row)
        before = versions[-1].message.text
        if before == self.message.text:
            return None
        if caused := self.turn.traces.caused_by(versions):
            old, new = (self.reader(text, self._alone) for text in (before, self.message.text))
            return edited(old, new, caused, self.desk)
        # What was answered before its wording changed was said to us.
        answered = any(v.state == "answered" for v in versions)
        return self._text(replace(self.message, addressed=self.message.addressed or answered), own)

    def _taken_back(self) -> Answer | None:
        first = self._first(self.message.retracts)
        if first is None or self.desk.now - first.message.received_at > TIDY:
            return None
        return taken_back(self.turn.traces.caused_by(self.turn.traces.versions(first, self.row)), self.desk)

    def _sign(self) -> Reading | None:
        """A sign answers the very message it hangs on: our question to this person, or a reminder."""
        said = self.turn.traces.said(self.message.channel, self.message.reply_to)
        text = self.message.text
        if said is None or self.desk.person is None or text not in YES | NO:
            return None
        if said.kind == "reminder":
            what = self._reminded(said.key) if text in YES else None
            return Reading(acts=(Act("ack", {"what": what}),)) if what else None
        pending = self.talk.pending
        if pending is None or len(pending.choices) != 2 or said.key != self.talk.asked_in:
            return None
        return self.reader("yes" if text in YES else "no", self.context)

    def _reminded(self, key: str) -> str | None:
        """What the reminder asked for, if that is still open; of several in one text the latest."""
        if "-unplug" in key and self.desk.log.irons_on():
            return "unplug"  # also after midnight, when its day is over
        if not key.startswith(f"c-{self.desk.day}-"):
            return None
        several = "-round-" in key or "-own" in key
        return next((what for what in self.desk.reminders if several or f"-{what}" in key), None)
