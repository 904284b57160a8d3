"""What the doctor asks of the modem line: does the daemon live, does the modem hear the network, do texts leave.

It looks into the daemon's tables and changes nothing. The other lines are seen when they are opened.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import sqlalchemy as sa

from sitebot.channels.sms import smsd
from sitebot.channels.sms.watchdog import MISSED_BEATS
from sitebot.errors import DataError

#: Without a sign of life for so long, or as many beats as the watchdog lets pass, it is wedged or ended.
LEAST_LIMIT = timedelta(minutes=3)
#: A signal below this loses texts [%].
WEAK = 20
#: A text that the modem has not taken for so long stands still.
STALE = timedelta(minutes=15)
_AGE = {
    "sqlite": "SELECT max((julianday('now') - julianday(UpdatedInDB)) * 86400), max(Signal) FROM phones",
    "postgresql": 'SELECT min(extract(epoch FROM LOCALTIMESTAMP - "UpdatedInDB")), max("Signal") FROM phones',
}


def modem(smsdrc: Path, database: str = "") -> Iterator[tuple[str, str]]:
    """What was looked at, and what to do where it is not well; "" for well."""
    try:
        conf = smsd.read_smsdrc(smsdrc)
    except DataError as error:
        yield "modem daemon", str(error)
        return
    url = sa.make_url(database) if database else conf.url
    if url.get_backend_name() == "sqlite" and not Path(url.database or "").exists():
        yield "modem daemon", f"its tables are not there ({url.database}). Prepare them as deploy/sms/README.md says."
        return
    engine = sa.create_engine(url, poolclass=sa.NullPool)
    try:
        with engine.connect() as tx:
            age, signal = tx.exec_driver_sql(_AGE[url.get_backend_name()]).one()
            waiting = tx.execute(sa.select(sa.func.min(smsd.outbox.c.SendingDateTime))).scalar()
    except sa.exc.DBAPIError as error:
        yield "modem daemon", f"its tables cannot be read ({error.orig}). Start its database, or mend smsdrc."
        return
    yield "modem daemon", _life(age, max(LEAST_LIMIT, timedelta(seconds=MISSED_BEATS * conf.status_s)))
    yield "modem signal", _hearing(signal)
    yield "modem queue", _queue(waiting)


def _life(age_s: float | None, limit: timedelta) -> str:
    if age_s is not None and timedelta(seconds=float(age_s)) <= limit:
        return ""
    since = "it never spoke" if age_s is None else f"no sign of life for {float(age_s) / 60:.0f} min"
    return f"{since}. Say: systemctl restart sitebot-smsd. Does it not help, pull the modem out and put it in again."


def _hearing(signal: int | None) -> str:
    if signal is None or signal < 0:
        return ""  # many modems do not tell
    return f"{signal} %. Move the modem or its antenna to a window." if signal < WEAK else ""


def _queue(oldest: object) -> str:
    if oldest is None:
        return ""
    since = oldest if isinstance(oldest, datetime) else datetime.fromisoformat(str(oldest))
    # The daemon writes UTC where it runs as its unit says; a zone's difference is longer than any queue should be.
    if datetime.now(UTC).replace(tzinfo=None) - since < STALE:
        return ""
    return f"a text waits since {since:%b %d %H:%M}. Is the SIM paid for, unlocked and in its coverage?"
