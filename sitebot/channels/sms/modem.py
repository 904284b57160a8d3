"""The modem line: gammu-smsd as its own process, talked to through its tables (SQLite or PostgreSQL).

Each comment that names a trap was measured on gammu-smsd 1.42. Joining, receipts' meaning and courtesy are not here.
"""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, Self

import sqlalchemy as sa
import structlog

from sitebot.channels.sms import smsd
from sitebot.channels.sms.courtesy import digest
from sitebot.channels.sms.joining import concatenation
from sitebot.channels.sms.line import Accepted, Counter, Heard, Letter, Receipt, Step
from sitebot.channels.sms.settings import ModemSettings
from sitebot.errors import Unreachable
from sitebot.wording.parts import encoding

#: What the daemon says of a part. Errors of the sending side may pass; those of the phone are its last word.
STATUS = {
    "SendingOK": Step.SENT,
    "SendingOKNoReport": Step.SENT,
    "DeliveryPending": Step.SENT,
    "DeliveryUnknown": Step.SENT,
    "DeliveryOK": Step.DELIVERED,
    "DeliveryFailed": Step.FAILED,
    "SendingError": Step.FAILED,
    "Error": Step.FAILED,
}
CODING = {"gsm7": "Default_No_Compression", "ucs2": "Unicode_No_Compression"}
_MOST_ROWS = 200
log = structlog.get_logger(__name__)


class Modem:
    """One modem behind one daemon."""

    name = "modem"

    def __init__(self, url: sa.URL, phone: str, poll_s: float = 0.5, keep_days: int = 30) -> None:
        self._engine = smsd.open_engine(url)
        self._phone, self._poll_s, self._keep_days = phone, poll_s, keep_days
        self._purged = datetime.min.replace(tzinfo=UTC)
        self._on_postgres = self._engine.dialect.name == "postgresql"

    @classmethod
    def of(cls, settings: ModemSettings) -> Self:
        config = smsd.read_smsdrc(settings.smsdrc)
        own = settings.database.get_secret_value()
        return cls(sa.make_url(own) if own else config.url, config.phone, settings.poll_s, settings.keep_days)

    # --- in ---------------------------------------------------------------------------------------------------------

    async def hear(self, counter: Counter) -> None:
        """Look at the daemon's tables again and again. A row is marked read after its part is committed."""
        while True:
            try:
                rows = await asyncio.to_thread(self._unread)
                if rows:
                    await counter.take([h for row in rows if (h := self._heard(row))])
                    await asyncio.to_thread(self._mark_read, [row.ID for row in rows])
                await asyncio.to_thread(self._purge)
                receipts = await asyncio.to_thread(self._receipts, counter.unsettled())
            except sa.exc.DBAPIError as error:
                raise Unreachable(f"the tables of gammu-smsd: {error.orig}") from error
            await counter.note(receipts)
            await asyncio.sleep(self._poll_s)

    def _purge(self) -> None:
        """Once a day: what was read or sent long ago."""
        now = datetime.now(UTC)
        if self._keep_days and now - self._purged > timedelta(days=1):
            smsd.purge(self._engine, now - timedelta(days=self._keep_days))
            self._purged = now

    async def forget(self, gone: str) -> None:
        """Take the texts of a number, known by its hash, out of the daemon's tables."""
        try:
            await asyncio.to_thread(smsd.forget, self._engine, lambda number: digest(number) == gone)
        except sa.exc.DBAPIError as error:
            raise Unreachable(f"the tables of gammu-smsd: {error.orig}") from error

    def _unread(self) -> Sequence[Any]:
        i = smsd.inbox
        query = sa.select(i).where(i.c.Processed == self._flag(False), i.c.RecipientID == self._phone)
        with self._engine.begin() as tx:
            return tx.execute(query.order_by(i.c.ID).limit(_MOST_ROWS)).all()

    def _heard(self, row: Any) -> Heard | None:
        """A row as a part. ``Text`` has the part's own UTF-16 in hex; ``TextDecoded`` may have all of it, or none."""
        if row.Coding == "8bit":
            # Not a text: a settings message, or the notice of a picture that this line cannot fetch.
            log.info("left out: binary", row=row.ID)
            return None
        try:
            text = bytes.fromhex(row.Text or "").decode("utf-16-be", "surrogatepass")
            reference, total, place = concatenation(bytes.fromhex(row.UDH or ""))
        except ValueError:
            log.error("left out: unreadable", row=row.ID)
            return None
        # Naive, in the daemon's zone, which its unit sets to UTC. The network's stamp, so a repeat has the same.
        at = datetime.fromisoformat(str(row.ReceivingDateTime)).replace(tzinfo=UTC)
        told_apart = f"{row.SenderNumber}|{at.isoformat()}|{reference}|{total}|{place}|{row.Text}"
        ident = hashlib.sha256(told_apart.encode()).hexdigest()[:40]
        return Heard(ident, row.SenderNumber, text, at, reference, total, place)

    def _mark_read(self, ids: Sequence[int]) -> None:
        i = smsd.inbox
        with self._engine.begin() as tx:
            tx.execute(i.update().where(i.c.ID.in_(ids)).values(Processed=self._flag(True)))

    def _receipts(self, refs: Sequence[str]) -> list[Receipt]:
        if not refs:
            return []
        s = smsd.sentitems
        query = sa.select(s.c.CreatorID, s.c.SequencePosition, s.c.Status, s.c.StatusCode, s.c.StatusError)
        with self._engine.begin() as tx:
            rows = tx.execute(query.where(s.c.CreatorID.in_(refs)).order_by(s.c.ID, s.c.SequencePosition)).all()
        return [
            Receipt(
                step=STATUS.get(row.Status, Step.QUEUED),
                ref=row.CreatorID,
                place=row.SequencePosition - 1,
                detail=f"{row.Status} {row.StatusCode}/{row.StatusError}",
                again=row.Status in ("SendingError", "Error"),
            )
            for row in rows
        ]

    # --- out --------------------------------------------------------------------------------------------------------

    async def send(self, letter: Letter, accepted: Accepted) -> None:
        """Lay the message into the daemon's outbox; it goes on air within a second or so."""
        try:
            ident = await asyncio.to_thread(self._queue, letter)
        except sa.exc.DBAPIError as error:
            raise Unreachable(f"the tables of gammu-smsd: {error.orig}") from error
        for place in range(len(letter.parts)):
            await accepted(place, f"{ident}.{place + 1}", Step.QUEUED)

    def _queue(self, letter: Letter) -> int:
        # One transaction: the daemon must never see the first part without the others.
        with self._engine.begin() as tx:
            if (known := self._known(tx, letter.ref)) is not None:
                return known
            ident = tx.execute(self._head(letter)).inserted_primary_key
            assert ident is not None
            for place in range(1, len(letter.parts)):
                tx.execute(
                    smsd.outbox_multipart.insert().values(
                        ID=ident[0],
                        SequencePosition=place + 1,
                        TextDecoded=letter.parts[place],
                        Coding=CODING[encoding(letter.text)],
                        UDH=_header(letter, place),
                        Class=-1,
                    )
                )
            return int(ident[0])

    def _known(self, tx: sa.Connection, ref: str) -> int | None:
        """Under CreatorID, which the daemon copies to what it has sent, our ref is found wherever the message is."""
        for table in (smsd.outbox, smsd.sentitems):
            found = tx.execute(sa.select(table.c.ID).where(table.c.CreatorID == ref).limit(1)).scalar()
            if found is not None:
                return int(found)
        return None

    def _head(self, letter: Letter) -> sa.Insert:
        # Divided by us: with MultiPart false the daemon cuts a long text off at 160 and calls it delivered.
        # Coding chosen by us: it turns what its alphabet lacks into "?" and calls it delivered.
        values: dict[str, Any] = {
            "DestinationNumber": letter.to,
            "TextDecoded": letter.parts[0],
            "Coding": CODING[encoding(letter.text)],
            "UDH": _header(letter, 0) if len(letter.parts) > 1 else None,
            "MultiPart": self._flag(len(letter.parts) > 1),
            "CreatorID": letter.ref,
            "SenderID": self._phone,
            "DeliveryReport": "yes",
            "Priority": letter.urgency,
            "Class": -1,
        }
        if not self._on_postgres:
            # Defaults are UTC, the daemon compares with local time: west of UTC nothing would go for hours.
            past = sa.func.datetime("now", "-1 day")
            values |= {"SendingDateTime": past, "SendingTimeOut": past}
        return smsd.outbox.insert().values(**values)

    def _flag(self, value: bool) -> Any:
        """A boolean column on PostgreSQL, text on SQLite."""
        word = "true" if value else "false"
        return sa.literal_column(word) if self._on_postgres else word


def _header(letter: Letter, place: int) -> str:
    return f"050003{letter.number:02X}{len(letter.parts):02X}{place + 1:02X}"
