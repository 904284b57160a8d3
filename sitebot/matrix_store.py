"""The folder of the Matrix account in a backup: account, identity, key store, who is trusted. No key is read here.

An older key store put back is older than what the homeserver knows: a few messages that came in between stay unreadable
and are asked for again. Without it the device is lost and every crew sees a new one.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

#: Held by the running process; worth nothing elsewhere.
NOT_KEPT = frozenset({"owner.lock"})


def files(store: Path) -> Iterator[Path]:
    """What makes the account; neither the journal files of a live database nor half-written ones."""
    for path in sorted(store.iterdir()) if store.is_dir() else ():
        if (
            path.is_file()
            and path.name not in NOT_KEPT
            and not path.name.endswith(("-wal", "-shm", "-journal", ".new"))
        ):
            yield path


def copy(store: Path, target: Path) -> None:
    """Copy the folder while the assistant runs: the key store as one state, by the database's own backup."""
    target.mkdir(mode=0o700)
    for path in files(store):
        if path.suffix == ".db":
            _copy_database(path, target / path.name)
        else:
            shutil.copyfile(path, target / path.name)


def _copy_database(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(target)) as copied:
        live.backup(copied)


def put_back(folder: Path, store: Path) -> None:
    """Put a copied folder in its place, for its owner alone."""
    store.mkdir(parents=True, exist_ok=True, mode=0o700)
    for path in files(folder):
        descriptor = os.open(store / path.name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "wb") as file, path.open("rb") as data:
            shutil.copyfileobj(data, file)
            file.flush()
            os.fsync(file.fileno())
