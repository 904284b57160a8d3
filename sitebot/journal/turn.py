"""One message's transaction: the log as it stands, and everything that the message brings. Nothing here commits."""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from sitebot.entries import Entry, body_of, by_ids, has_free_text
from sitebot.journal import apart, chain, inbox, nearby, outbox
from sitebot.journal import tables as t
from sitebot.journal.asking import Known
from sitebot.journal.prepared import Prepared, b, selecting
from sitebot.journal.projections import Row, project
from sitebot.journal.projections.row import add, put
from sitebot.journal.reader import SqlLog
from sitebot.journal.traces import Traces
from sitebot.message import Attached, Incoming, Outgoing


class Turn:
    """One message's transaction: the log as it stands, and everything that the message brings."""

    def __init__(self, tx: sa.Connection, site: str, now: datetime, key: bytes, known: Known | None = None) -> None:
        self.site = site
        self._key = key
        self.now = now
        self.log = SqlLog(tx, site)
        self._tx = tx
        self._head = self.log.head()
        if known and known.head == self._head:
            self.log.known = dict(known.answers)
        #: What was heard and said before.
        self.traces = Traces(tx, site, now)
        #: Something was recorded in this turn.
        self.has_recorded = False
        self._files: dict[int, tuple[Attached, ...]] = {}
        self._over: dict[int, bool] = {}

    # --- entries ----------------------------------------------------------------------------------------------------

    def record(self, entries: Sequence[Entry], person: str = "", cause: int = 0) -> None:
        """Append entries to the chain and bring the tables up to date."""
        if not entries:
            return
        self.has_recorded = True
        seq, before = self._head
        for entry in entries:
            seq += 1
            if has_free_text(entry):
                entry = by_ids(entry, self.log.names())
            before = self._append(entry, seq, before, person, cause)
        self._sign(seq, before)
        self.log.forget(entries)

    def known(self) -> Known:
        """What the next turn of this site need not ask again, once this one is committed."""
        return Known(self._head, self.log.worth_keeping())

    def _sign(self, seq: int, head: str) -> None:
        values = {"seq": seq, "hash": head, "signature": chain.sign(self._key, self.site, seq, head)}
        put(self._tx, t.heads, {"site": self.site}, values)
        self._head = (seq, head)

    def head(self) -> tuple[int, str]:
        """How many entries there are, and the hash of the last: the seal of the log."""
        return self._head

    def _append(self, entry: Entry, seq: int, before: str, person: str, cause: int) -> str:
        kind, body = type(entry).__name__, chain.canonical(body_of(entry))
        own = chain.link(
            before, site=self.site, seq=seq, at=t.utc_text(self.now), kind=kind, body=body, person=person, cause=cause
        )
        values = {"site": self.site, "seq": seq, "at": self.now, "kind": kind, "body": body, "hash": own}
        add(self._tx, t.entries, {**values, "person": person, "cause": cause})
        apart.keep(self._tx, self.site, entry)
        project(self._tx, Row(self.site, seq, self.now, person), entry)
        return own

    # --- the message ------------------------------------------------------------------------------------------------

    def message(self, row: int) -> Incoming | None:
        """The kept message, or None where it has been answered meanwhile."""
        claimed = inbox.claim(self._tx, self.site, row)
        if claimed is None:
            return None
        message, self._files[row], self._over[row] = claimed
        return message

    def is_over(self, row: int) -> bool:
        """Is a message of this turn past what is read of one sender?"""
        return self._over[row]

    def same_text_before(self, message: Incoming, row: int, within: timedelta) -> bool:
        """Did the same sender send the same text written at the same time (or in the same minute) before?"""
        return inbox.is_resend(self._tx, self.site, message, row, within)

    def attached(self, row: int) -> tuple[Attached, ...]:
        """The files that came with a kept message of this turn."""
        return self._files[row]

    def near(self, message: Incoming, row: int, within: timedelta) -> Iterator[tuple[list[int], str]]:
        """What was said near it: splices recorded because of that, and its words. The message replied to first."""
        return nearby.near(self._tx, self.site, message, row, within)

    def answered(self, row: int, state: str = "answered") -> None:
        inbox.mark(self._tx, self.site, row, state)

    def queue(self, messages: Sequence[Outgoing], pictures: Mapping[str, str] | None = None) -> None:
        """Lay messages into the outbox; they are sent after the commit."""
        if messages:
            outbox.lay(self._tx, self.site, self.now, messages, pictures or {})

    def lost(self) -> list[Outgoing]:
        """What was given up since this was last asked."""
        return outbox.lost(self._tx, self.site)

    def show_today(self, day: str, out: Outgoing) -> None:
        """Have a room's pinned message show a text, soon."""
        outbox.show_today(self._tx, self.site, self.now, day, out)

    # --- talk and wakes ---------------------------------------------------------------------------------------------

    def talk(self, who: str) -> tuple[datetime, dict[str, Any]] | None:
        row = selecting(t.talks, ("who",)).first(self._tx, b_site=self.site, b_who=who)
        return (row["at"], json.loads(row["body"])) if row else None

    def keep_talk(self, who: str, body: Mapping[str, Any]) -> None:
        put(self._tx, t.talks, {"site": self.site, "who": who}, {"at": self.now, "body": json.dumps(body)})

    def channel_rows(self, channel: str, keys: Sequence[str]) -> dict[str, str]:
        """What a channel keeps under these keys, whichever site it is at home on."""
        c = t.channel_state
        query = sa.select(c.c.key, c.c.value).where(c.c.channel == channel, c.c.key.in_(keys))
        return {r.key: r.value for r in self._tx.execute(query)} if keys else {}

    # --- codes ------------------------------------------------------------------------------------------------------

    def held(self, person: str) -> dict[str, Any] | None:
        """What waits, or last waited, for a code of this person."""
        c = t.codes
        row = self._tx.execute(sa.select(c.c.body).where(c.c.site == self.site, c.c.person == person)).first()
        return json.loads(row.body) if row else None

    def keep_held(self, person: str, until: datetime | None, body: Mapping[str, Any]) -> None:
        values = {"until": until, "body": json.dumps(body)}
        put(self._tx, t.codes, {"site": self.site, "person": person}, values)

    def codes_wait(self) -> bool:
        """Does anybody's code wait on this site?"""
        c = t.codes
        return (
            self._tx.execute(sa.select(c.c.person).where(c.c.site == self.site, c.c.until >= self.now)).first()
            is not None
        )

    def seal(self, text: str) -> str:
        """A hash that only the holder of the journal's key can make: guessing at a stolen database tells nothing."""
        return hmac.new(self._key, text.encode(), hashlib.sha256).hexdigest()

    def keep_wakes(self, wakes: Mapping[str, datetime]) -> None:
        """When the site wants to be woken, and for what; takes the place of what was there."""
        old = {r["what"]: r["due_at"] for r in selecting(t.wakes).all(self._tx, b_site=self.site)}
        for what in old.keys() - wakes.keys():
            _NO_WAKE.do(self._tx, b_site=self.site, b_what=what)
        for what, at in wakes.items():
            if old.get(what) != at:
                put(self._tx, t.wakes, {"site": self.site, "what": what}, {"due_at": at})


_NO_WAKE = Prepared(t.wakes.delete().where(t.wakes.c.site == b(t.wakes.c.site), t.wakes.c.what == b(t.wakes.c.what)))


class Turns:
    """Turns of one site in one transaction, one after the other, each knowing what the one before has read."""

    def __init__(self, tx: sa.Connection, site: str, now: datetime, key: bytes, known: Known | None) -> None:
        self.known = known
        self._tx = tx
        self._for = (site, now, key)

    @contextmanager
    def alone(self) -> Iterator[Turn]:
        """The only turn of the transaction."""
        known, self.known = self.known, None
        turn = Turn(self._tx, *self._for, known)
        yield turn
        self.known = turn.known()

    @contextmanager
    def each(self) -> Iterator[Turn]:
        """A turn that stands or falls by itself: what raises undoes this one and none before it."""
        with self._tx.begin_nested(), self.alone() as turn:
            yield turn
