"""Backups while the assistant runs, and their restoring: the log, its key, and what its heads were, in one file.

SQLite is copied by its own backup, PostgreSQL by pg_dump; both give one state of the log. A backup holds the key that
signs the log, all names and the keys of the Matrix account: keep it as you keep the log.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
import tarfile
import tempfile
import zlib
from collections.abc import Iterator, Set
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sitebot import matrix_store
from sitebot.errors import SitebotError
from sitebot.journal import Journal
from sitebot.journal.check import check, photo_faults
from sitebot.journal.engine import own_file, server_of
from sitebot.photos import MOST_BYTES, Folder

FORMAT = "sitebot-backup-1"
#: Names inside the file.
ABOUT, KEY, SQLITE, POSTGRES, PHOTOS = "about.json", "log.key", "log.db", "log.pgdump", "photos"
MATRIX = "matrix"
_PHOTO = re.compile(rf"{PHOTOS}/([0-9a-f]{{64}})")
_MATRIX = re.compile(rf"{MATRIX}/[^/]+")


class BackupError(SitebotError):
    """A backup could not be made or restored; nothing was changed."""


def back_up(journal: Journal, target: Path, matrix: Path | None = None) -> int:
    """Write a backup of a running log, and of the Matrix account in ``matrix``; how many entries it holds."""
    with tempfile.TemporaryDirectory(dir=target.parent, prefix=".sitebot-") as folder:
        inside = Path(folder)
        if (source := own_file(journal.url)) is not None:
            _copy_sqlite(source, inside / SQLITE)
            heads, photos = _held_by(Journal(f"sqlite:///{inside / SQLITE}", journal.key))
        else:
            # The heads may be older than the dump by what came in between, never newer; photos may be a few more.
            heads = journal.heads()
            _run("pg_dump", journal.url, "--format=custom", "--no-owner", f"--file={inside / POSTGRES}")
            photos = journal.photos_named()
        (inside / KEY).write_text(journal.key.hex())
        matrix_store.copy(matrix or inside / MATRIX, inside / MATRIX)
        about = {"format": FORMAT, "heads": heads, "sha256": _sums(inside)}
        (inside / ABOUT).write_text(json.dumps(about, indent=1))
        _pack(inside, target, journal.photos, photos)
    return sum(seq for seq, _ in heads.values())


def _held_by(journal: Journal) -> tuple[dict[str, tuple[int, str]], set[str]]:
    """The heads of a log, and the photos it names."""
    with closing(journal):
        return journal.heads(), journal.photos_named()


def _sums(folder: Path) -> dict[str, str]:
    sums = {}
    for name in (KEY, SQLITE, POSTGRES, *_matrix_names(folder)):
        if (folder / name).exists():
            with (folder / name).open("rb") as file:
                sums[name] = hashlib.file_digest(file, "sha256").hexdigest()
    return sums


def _matrix_names(folder: Path) -> list[str]:
    return [f"{MATRIX}/{path.name}" for path in matrix_store.files(folder / MATRIX)]


def _copy_sqlite(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(target)) as copy:
        live.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")


def _pack(folder: Path, target: Path, photos: Folder | None, named: Set[str]) -> None:
    """All or nothing, readable by its owner alone, and on the disk before it has its name."""
    draft = folder / "packed"
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        with tarfile.open(fileobj=file, mode="w:gz", compresslevel=3) as tar:
            for name in (ABOUT, KEY, SQLITE, POSTGRES, *_matrix_names(folder)):
                if (folder / name).exists():
                    tar.add(folder / name, arcname=name)
            for name in sorted(named) if photos else ():
                # One that is gone is named by the check of the restored copy; the log is saved all the same.
                if photos and photos.original(name).exists():
                    tar.add(photos.original(name), arcname=f"{PHOTOS}/{name}")
        file.flush()
        os.fsync(file.fileno())
    draft.replace(target)


def restore(
    source: Path, url: str, key: Path | None = None, photos: Path | None = None, matrix: Path | None = None
) -> list[str]:
    """Restore into an empty place and check it: the faults found, none where all is well."""
    with _unpacked(source) as (inside, about):
        path = own_file(url)
        key = key or (path.with_suffix(".key") if path else None)
        if key is None:
            raise BackupError("Name the file for the key (--key) that all workers of this database share.")
        if (inside / SQLITE).exists() != (path is not None):
            kind = "SQLite" if path is None else "PostgreSQL"
            raise BackupError(f"{source}: a backup of {kind}. Restore it to {kind}.")
        _refuse_to_overwrite(url, path, key)
        if matrix and any(matrix_store.files(matrix)):
            raise BackupError(f"{matrix} holds an account already. Move it away, or restore to another place.")
        if path is not None:
            _place(inside / SQLITE, path)
        else:
            _run("pg_restore", url, "--no-owner", "--exit-on-error", "--single-transaction", str(inside / POSTGRES))
        _place(inside / KEY, key)
        if matrix:
            matrix_store.put_back(inside / MATRIX, matrix)
        journal = Journal.open(url, key)
        if photos:
            journal.photos = Folder(photos)
        for original in sorted((inside / PHOTOS).glob("*")):
            if journal.photos:
                journal.photos.put(original.read_bytes())
        return list(_faults(journal, about["heads"]))


def _refuse_to_overwrite(url: str, path: Path | None, key: Path) -> None:
    for file in (path, key):
        if file is not None and file.exists() and file.stat().st_size:
            raise BackupError(f"{file} is there already. Move it away, or restore to another place.")
    if path is None:
        journal = Journal(url)
        with closing(journal):
            if not journal.is_empty():
                raise BackupError("The database holds tables already. Restore into an empty one.")


def _place(source: Path, target: Path) -> None:
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        with source.open("rb") as data:
            shutil.copyfileobj(data, file)
        file.flush()
        os.fsync(file.fileno())


def _faults(journal: Journal, heads: dict[str, tuple[int, str]]) -> Iterator[str]:
    with closing(journal):
        journal.migrate()
        for site in journal.sites():
            yield from (f"{site}: {fault}" for fault in check(journal, site))
        yield from photo_faults(journal)
        found = journal.heads()
        for site, (seq, _) in heads.items():
            if found.get(site, (0, ""))[0] < seq:
                yield f"{site}: the backup names {seq} entries, {found.get(site, (0, ''))[0]} are there"


@contextmanager
def _unpacked(source: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    with tempfile.TemporaryDirectory(prefix="sitebot-") as folder:
        inside = Path(folder)
        try:
            with tarfile.open(source) as tar:
                for name in (ABOUT, KEY, SQLITE, POSTGRES):  # nothing else, wherever it wants to go
                    if name in tar.getnames():
                        tar.extract(name, inside, filter="data")
                for name in filter(_MATRIX.fullmatch, tar.getnames()):
                    tar.extract(name, inside, filter="data")
                _unpack_photos(tar, inside / PHOTOS)
            about = json.loads((inside / ABOUT).read_text())
        except (OSError, EOFError, zlib.error, tarfile.TarError, ValueError) as error:
            raise BackupError(f"{source}: not a backup of sitebot, or not whole: {error}") from error
        if about.get("format") != FORMAT:
            raise BackupError(f"{source}: a backup of another kind ({about.get('format')}).")
        if about.get("sha256") != _sums(inside):
            raise BackupError(f"{source}: damaged: what is in it is not what was put in. Take another backup.")
        yield inside, about


def _unpack_photos(tar: tarfile.TarFile, folder: Path) -> None:
    """Each is what its name says, or the backup is damaged."""
    folder.mkdir()
    for member in tar:
        name = _PHOTO.fullmatch(member.name)
        if name and member.isfile() and member.size <= MOST_BYTES and (file := tar.extractfile(member)):
            data = file.read()
            if hashlib.sha256(data).hexdigest() != name[1]:
                raise ValueError(f"{member.name} is not what was put in")
            (folder / name[1]).write_bytes(data)


def _run(program: str, url: str, *words: str) -> None:
    """pg_dump or pg_restore of SITEBOT_PG_BIN, else of the path; the password goes by the environment."""
    folder = os.environ.get("SITEBOT_PG_BIN")
    place = shutil.which(program, path=folder) or (None if folder else shutil.which(program))
    if place is None:
        raise BackupError(
            f"{program} is not there. Install the PostgreSQL client, or name its folder in SITEBOT_PG_BIN."
        )
    address, password = server_of(url)
    environment = {**os.environ, "PGCONNECT_TIMEOUT": "10"} | ({"PGPASSWORD": password} if password else {})
    command = [place, f"--dbname={address}", *words]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)  # noqa: S603
    if done.returncode:
        raise BackupError(f"{program}: {done.stderr.strip()[-600:]}")
