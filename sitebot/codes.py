"""A code sent back before an act of weight is done: an address can be forged, what is sent to it cannot be read.

The act is answered as ever, but nothing of it is recorded. It waits, with a code of four digits that goes to the number
on the roster and is kept only as a keyed hash. When the code comes back from that person the act is answered anew and
recorded if it would still do the same. What is of weight stands in respond/weight.py.
"""

from __future__ import annotations

import hmac
import re
import secrets
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from sitebot.acts import Act
from sitebot.entries import ActConfirmed, CodeMissed
from sitebot.journal import Turn
from sitebot.message import Incoming, Outgoing, Say
from sitebot.respond import Answer, Desk
from sitebot.respond.people import notice
from sitebot.respond.weight import digest, weight
from sitebot.rulebook.word_lists import word_lists
from sitebot.talks import Talk, act_of, act_to
from sitebot.wording import render_all

LIFE = timedelta(minutes=10)
MOST_TRIES = 3
#: Codes for one person within an hour: more is somebody's game, and each brings a thief three guesses of 10,000.
MOST_AN_HOUR = 5
#: How long a code that is over is known again: it is no reading of an iron.
REMEMBERED = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Held:
    """What waits for its code; of a person at most one. Without acts nothing waits any more."""

    asked_at: datetime
    #: The keyed hash of the code, and what was mixed in.
    seal: str = ""
    nonce: str = ""
    tries: int = 0
    #: The message that asked for it, and when that was written.
    row: int = 0
    said_at: datetime | None = None
    acts: tuple[Act, ...] = ()
    #: What each would record, by its digest.
    digests: tuple[str, ...] = ()
    #: What the acts may refer to.
    last: tuple[Act, ...] = ()
    #: When codes went to this person within the last hour.
    sent: tuple[datetime, ...] = ()

    def is_open(self, now: datetime) -> bool:
        return bool(self.acts) and timedelta(0) <= now - self.asked_at <= LIFE

    def settled(self) -> Held:
        """Nothing waits any more; the code is still known when it comes again, and how often codes were sent."""
        return Held(self.asked_at, self.seal, self.nonce, sent=self.sent)


class Gate:
    """Stands between the answers to one message and the journal."""

    def __init__(self, turn: Turn, desk: Desk, message: Incoming, row: int) -> None:
        self.desk = desk
        self._turn, self._message, self._row = turn, message, row
        self._is_on = bool(desk.me) and message.channel in desk.site.confirm_by_code
        self._confirmed: Held | None = None
        self._waits: list[tuple[Act, Answer, tuple[Say, ...]]] = []

    @property
    def _held(self) -> Held | None:
        """Asked for only where a message may be a code or needs one: all others go by without a query."""
        return _of_json(self._turn.held(self.desk.me))

    # --- a code that comes back -------------------------------------------------------------------------------------

    def takes(self, talk: Talk) -> Answer | tuple[Act, ...] | None:
        """Is this message a code? What to say to one that does nothing, or the acts it confirms; None: no code."""
        code = code_in(self._message.text)
        is_word = not talk.pending and _plain(self._message.text) in _words("yes", "no")
        if not self._is_on or (code is None and not is_word):
            return None
        held = self._held
        if held is None or not held.is_open(self._turn.now):
            return self._late(held, code) if code and not talk.pending else None
        if code is None:
            return self._word(held)
        if self._fits(held, code):
            return self._right(held)
        return self._wrong(held, bool(talk.pending))

    def _late(self, held: Held | None, code: str) -> Answer | None:
        """His own that is over or used up; else said alike whether it is another's or nobody's: nothing is learned."""
        if held and abs(self._turn.now - held.asked_at) <= REMEMBERED and self._fits(held, code):
            return Answer((Say("codes.over" if held.acts else "codes.none"),), "refuse")
        return Answer((Say("codes.none"),), "refuse") if self._turn.codes_wait() else None

    def _fits(self, held: Held, code: str) -> bool:
        return hmac.compare_digest(held.seal, self._seal(held.nonce, code))

    def _word(self, held: Held) -> Answer | None:
        """A bare yes or no means the code where it was the last that we asked."""
        if any(self.desk.me in r.to and r.at > held.asked_at for r in self.desk.log.reminded(self.desk.day)):
            return None
        if _plain(self._message.text) in _words("yes"):
            return Answer((Say("codes.itself"),), "refuse")
        self._keep(held.settled())
        return Answer((Say("codes.dropped"),), "refuse")

    def _wrong(self, held: Held, is_asked: bool) -> Answer | None:
        """Counted always. Where we had asked something, four digits may answer that, such as a time, and go on."""
        tries = held.tries + 1
        if tries < MOST_TRIES:
            self._keep(replace(held, tries=tries))
            return None if is_asked else Answer((Say("codes.wrong", {"left": MOST_TRIES - tries}),), "refuse")
        self._keep(held.settled())
        self._turn.record([CodeMissed(acts=tuple(a.name for a in held.acts), asked=held.row)], self.desk.me, self._row)
        tell = Say("codes.missed_told", {"name": self.desk.person.name if self.desk.person else ""})
        others = self.desk.with_role("lead", "superintendent")
        return Answer((Say("codes.used_up"),), "refuse", notices=notice(others, self.desk, tell))

    def _right(self, held: Held) -> tuple[Act, ...]:
        self._confirmed = held
        self._keep(held.settled())
        said_at = (held.said_at or held.asked_at).astimezone(self.desk.site.tz)
        self.desk = replace(self.desk, said_at=said_at, last=held.last)
        return held.acts

    # --- an act that needs one --------------------------------------------------------------------------------------

    def passed(self, act: Act, answer: Answer, desk: Desk) -> Answer:
        """The answer as it may be recorded: itself, or nothing yet."""
        says = weight(answer.entries, desk) if self._is_on else ()
        if not says:
            return answer
        if self._confirmed and digest(answer.entries) in self._confirmed.digests:
            entry = ActConfirmed(act=act.name, asked=self._confirmed.row)
            return replace(answer, entries=(entry, *answer.entries))
        self._waits.append((act, answer, says))
        return Answer(outcome="ask_back", facts=answer.facts)

    def ask(self) -> None:
        """Send the code for what now waits. Whoever has had too many is told so instead."""
        if not self._waits:
            return
        now, held = self._turn.now, self._held
        sent = tuple(t for t in (held.sent if held else ()) if abs(now - t) < timedelta(hours=1))
        if len(sent) >= MOST_AN_HOUR:
            self._post("reply", f"{self._row}-n", (Say("codes.too_many"),))
            return
        code, nonce = f"{secrets.randbelow(10_000):04}", secrets.token_hex(8)
        self._keep(
            Held(
                now,
                self._seal(nonce, code),
                nonce,
                row=self._row,
                said_at=self.desk.said_at,
                acts=tuple(act for act, _, _ in self._waits),
                digests=tuple(digest(answer.entries) for _, answer, _ in self._waits),
                last=self.desk.last,
                sent=(*sent, now),
            )
        )
        what = [say for _, _, says in self._waits for say in says]
        self._post("code", f"{self._row}-code-{nonce}", (Say("codes.ask", {"code": code, "what": what}),))

    def _post(self, kind: Any, key: str, says: Sequence[Say]) -> None:
        """To the number as it stands on the roster, on no other way than that."""
        person = self.desk.person
        assert person is not None
        address = next(a for a in person.addresses if a == self._message.sender)
        text = render_all(says, person.language)
        self._turn.queue([Outgoing(key, self._message.channel, address, text, kind)])

    def _seal(self, nonce: str, code: str) -> str:
        return self._turn.seal(f"{self._turn.site}|{self.desk.me}|{nonce}|{code}")

    def _keep(self, held: Held) -> None:
        self._turn.keep_held(self.desk.me, held.asked_at + LIFE if held.acts else None, _to_json(held))


# --- texts ----------------------------------------------------------------------------------------------------------


def code_in(text: str) -> str | None:
    """The code that a text is: four digits, alone or among the few words people put to them."""
    plain = _plain(text)
    digits = "".join(re.findall(r"\d", plain))
    rest = re.sub(r"[\d ]+", " ", plain).split()
    return digits if len(plain) < 60 and len(digits) == 4 and set(rest) <= _words("beside") else None


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.casefold())
    letters = "".join(c for c in letters if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^a-z0-9]+", " ", letters).split())


def _words(*keys: str) -> frozenset[str]:
    return frozenset(word for key in keys for word in word_lists("codes")[key])


# --- as kept --------------------------------------------------------------------------------------------------------


def _to_json(held: Held) -> dict[str, Any]:
    return {
        "asked_at": held.asked_at.isoformat(),
        "seal": held.seal,
        "nonce": held.nonce,
        "tries": held.tries,
        "row": held.row,
        "said_at": held.said_at.isoformat() if held.said_at else None,
        "acts": [act_to(a) for a in held.acts],
        "digests": list(held.digests),
        "last": [act_to(a) for a in held.last],
        "sent": [t.isoformat() for t in held.sent],
    }


def _of_json(body: Mapping[str, Any] | None) -> Held | None:
    if body is None:
        return None
    return Held(
        asked_at=datetime.fromisoformat(body["asked_at"]),
        seal=body["seal"],
        nonce=body["nonce"],
        tries=body["tries"],
        row=body["row"],
        said_at=datetime.fromisoformat(body["said_at"]) if body["said_at"] else None,
        acts=tuple(act_of(a) for a in body["acts"]),
        digests=tuple(body["digests"]),
        last=tuple(act_of(a) for a in body["last"]),
        sent=tuple(datetime.fromisoformat(t) for t in body["sent"]),
    )
