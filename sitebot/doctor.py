"""``sitebot doctor``: is everything in place on this machine, in plain words. It looks and changes nothing."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from importlib.util import find_spec
from pathlib import Path

from sitebot.errors import SitebotError
from sitebot.journal import DatabaseDown, Journal
from sitebot.journal.engine import own_file

#: Less room than this on the disk is said [bytes].
ROOM = 500 * 2**20
#: A message older than this in the outbox means that its channel does not send.
STALE = timedelta(minutes=15)
#: The library without which a channel cannot be opened.
NEEDS = {"matrix": "nio", "sms": "phonenumbers"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at. ``fault`` says what to do; empty: all is well."""

    what: str
    fault: str = ""


def examine(
    url: str, key: Path | None, channels: Mapping[str, object], files: tuple[Path, ...], now: datetime | None = None
) -> Iterator[Finding]:
    """Everything, in the order in which one mends it."""
    path = own_file(url)
    key = key or (path.with_suffix(".key") if path else None)
    yield from _files([*files, *([path] if path else []), *([key] if key else [])])
    yield from _disk(path.parent if path else Path.cwd())
    yield from _channels(channels)
    if path and not path.exists():
        yield Finding("database", f"{path} is not there. Load a site first: sitebot site load FILE.")
        return
    if key is None or not key.exists():
        yield Finding(
            "key", f"{key or 'no key file named'}: not there. Restore it from a backup, never make a new one."
        )
        return
    try:
        with closing(Journal.open(url, key)) as journal:
            yield from _database(journal, now or datetime.now(UTC))
    except DatabaseDown as error:
        yield Finding("database", f"{error}. Start it, or mend its address in the settings.")
    except SitebotError as error:
        yield Finding("key", str(error))


def _files(paths: list[Path]) -> Iterator[Finding]:
    """What holds secrets or names is for its owner alone."""
    for path in paths:
        if path.exists():
            mode = stat.S_IMODE(path.stat().st_mode)
            others = mode & 0o077 if path.suffix != ".toml" else mode & 0o037
            yield Finding(f"file {path}", f"others can read it. Say: chmod 600 {path}" if others else "")


def _disk(folder: Path) -> Iterator[Finding]:
    free = shutil.disk_usage(folder if folder.exists() else Path.cwd()).free
    yield Finding("disk", f"{free // 2**20} MB left. Make room: a full disk stops the log." if free < ROOM else "")
    if not os.access(folder, os.W_OK):
        yield Finding("disk", f"{folder} cannot be written by this user.")


def _channels(channels: Mapping[str, object]) -> Iterator[Finding]:
    if not channels:
        yield Finding("channels", "none is set: nobody can reach the assistant. Add [sms] or [matrix] to the settings.")
    for name, settings in channels.items():
        missing = find_spec(NEEDS[name]) is None
        yield Finding(
            f"channel {name}", f"its library is missing. Say: pip install 'sitebot[{name}]'" if missing else ""
        )
        if not missing and isinstance(settings, Mapping):
            yield from (Finding(what, fault) for what, fault in _far_side(name, settings))


def _far_side(name: str, settings: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """What the channel talks to: the modem's daemon, the homeserver."""
    line = settings.get("line")
    if isinstance(line, Mapping) and line.get("smsdrc"):
        from sitebot.channels.sms.examined import modem

        yield from modem(Path(str(line["smsdrc"])), str(line.get("database") or ""))
    if name == "matrix" and settings.get("store"):
        from sitebot.channels.matrix.examined import homeserver

        yield from homeserver(Path(str(settings["store"])))


def _database(journal: Journal, now: datetime) -> Iterator[Finding]:
    if journal.is_empty():
        yield Finding("database", "it is empty. Load a site first: sitebot site load FILE.")
        return
    yield Finding("database", "" if journal.sites() else "no site is loaded. Say: sitebot site load FILE.")
    yield from _clock(journal, now)
    load = journal.load()
    stale = load.oldest is not None and now - load.oldest > STALE
    yield Finding(
        "outbox", f"{load.queued} messages wait, the oldest since {load.oldest}: see the log." if stale else ""
    )
    if load.not_sent:
        yield Finding("outbox", f"{load.not_sent} messages were given up: their numbers or rooms take no messages.")
    if load.failed:
        yield Finding(
            "inbox", f"{load.failed} messages could not be answered. Ask their senders; report the log's error."
        )
    if load.flood:
        yield Finding("inbox", f"{load.flood} messages came in floods and were set aside unread.")


def _clock(journal: Journal, now: datetime) -> Iterator[Finding]:
    """Our clock beside the database's, and beside the last entry: time does not run back."""
    there = journal.database_clock()
    if abs(there - now) > timedelta(seconds=30):
        yield Finding("clock", f"it is {now:%H:%M:%S} here and {there:%H:%M:%S} UTC at the database. Set both by NTP.")
        return
    last = journal.last_entry()
    behind = last is not None and last - now > timedelta(minutes=1)
    yield Finding("clock", f"the last entry is of {last}, the clock says {now}. Set the clock." if behind else "")
