"""The account of the assistant on a homeserver: one file beside the key store, and a lock against a second process.

Nothing here talks to a homeserver, and nothing of Matrix's library is imported.
"""

from __future__ import annotations

import fcntl
import json
import os
from pathlib import Path
from typing import TextIO

from pydantic import BaseModel, ConfigDict, ValidationError

from sitebot.errors import DataError, LoggedOut, Refused

ACCOUNT = "account.json"
#: Seeds of the cross-signing keys: who holds them is the assistant to every client. A loss shows as a warning to crews.
IDENTITY = "identity.json"
LOCK = "owner.lock"


class Account(BaseModel):
    """What ``sitebot matrix login`` has found out. The token and the passphrase never leave the file in a log line."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    homeserver: str
    user: str
    device: str
    token: str
    #: Opens the key store; made at random at login, since the library's own default is the same for everybody.
    passphrase: str

    def __repr__(self) -> str:
        return f"Account({self.user} on {self.homeserver}, device {self.device})"

    __str__ = __repr__

    def key_store(self, store: Path) -> Path:
        """The library names its SQLite file so."""
        return store / f"{self.user}_{self.device}.db"


def save(account: Account, store: Path) -> None:
    """Write the account file, readable by the owner only; a crash leaves the old one or the new one."""
    store.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_secret(store / ACCOUNT, account.model_dump())


def write_secret(path: Path, values: dict[str, str]) -> None:
    """Replace a small secret file in one step, mode 0600, on the disk before this returns."""
    fresh = path.with_suffix(".new")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        json.dump(values, file, indent=1)
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)


def load(store: Path) -> Account:
    """The account of this store, with its key store; says what to do when either is missing."""
    try:
        account = Account.model_validate_json((store / ACCOUNT).read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise LoggedOut(f"No Matrix account in {store}. Run: sitebot matrix login") from error
    except ValidationError as error:
        raise DataError(f"{store / ACCOUNT}: {error}\nRun: sitebot matrix login") from error
    if not account.key_store(store).exists():
        # The server remembers the one-time keys of the lost store: the same device id would stay deaf for ever.
        raise LoggedOut(f"The key store of device {account.device} is gone from {store}. Run: sitebot matrix login")
    return account


def hold(store: Path) -> TextIO:
    """Hold the device until the file is closed. Two processes on one key store steal each other's keys."""
    store.mkdir(parents=True, exist_ok=True, mode=0o700)
    lock = (store / LOCK).open("w", encoding="utf-8")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        lock.close()
        raise Refused(f"Another process holds the Matrix device in {store}. Stop it first.") from error
    return lock
