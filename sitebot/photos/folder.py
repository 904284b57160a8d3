"""Originals on the disk under their SHA-256, whole and on the disk before anything names them. Nothing is ever changed.

    ab/ab12...      the original, byte for byte
    small/ab12....  its small copy for reports; made anew when it is missing

What no entry and no waiting message names is an orphan (a refused photo, a crash before the commit) and is swept.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import time
from collections.abc import Iterator, Set
from contextlib import suppress
from pathlib import Path

from sitebot.photos.small import small

#: An orphan younger than this may belong to a message that is being kept just now [s].
ORPHAN_AGE_S = 3600
_NAME = re.compile(r"[0-9a-f]{64}")


class Folder:
    """A folder of photos."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def put(self, data: bytes) -> str:
        """Keep an original; its hash. It is on the disk when this returns."""
        name = hashlib.sha256(data).hexdigest()
        target = self.original(name)
        if target.exists() and self.read(name) == data:
            os.utime(target)  # young again: the sweeper leaves it alone until its entry is written
        else:
            _write(target, data)
        return name

    def original(self, name: str) -> Path:
        """Where an original lies. ValueError for what is no hash: a name from outside never becomes a path."""
        if not _NAME.fullmatch(name):
            raise ValueError(f"{name!r} is no SHA-256")
        return self.path / name[:2] / name

    def read(self, name: str) -> bytes | None:
        """The bytes of an original; None where it is gone."""
        try:
            return self.original(name).read_bytes()
        except OSError:
            return None

    def fault(self, name: str) -> str:
        """What is wrong with an original; "" where it is there and is what was put in."""
        data = self.read(name)
        if data is None:
            return "is not there"
        return "" if hashlib.sha256(data).hexdigest() == name else "is not what was put in"

    def small(self, name: str) -> bytes | None:
        """The small copy of an original; None where the original is gone or cannot be read any more."""
        kept = self.path / "small" / self.original(name).name
        with suppress(OSError):
            return kept.read_bytes()
        if (data := self.read(name)) is None:
            return None
        try:
            made = small(data)
        except Exception:  # the original was changed on the disk; sitebot check says so
            return None
        with suppress(OSError):
            _write(kept, made)
        return made

    def names(self) -> Iterator[str]:
        """Every original."""
        for shard in sorted(self.path.glob("[0-9a-f][0-9a-f]")):
            yield from sorted(p.name for p in shard.iterdir() if _NAME.fullmatch(p.name))

    def sweep(self, named: Set[str]) -> int:
        """Delete originals that nothing names any more, and what a crash left half written; how many."""
        old = time.time() - ORPHAN_AGE_S
        gone = 0
        for path in [*self.path.glob("*/*")]:
            is_draft = path.name.startswith(".")
            with suppress(OSError):
                if (is_draft or path.name not in named) and path.stat().st_mtime < old:
                    path.unlink()
                    gone += path.parent.name != "small" and not is_draft
        return gone


def _write(target: Path, data: bytes) -> None:
    """Whole or not at all, readable by its owner alone, and on the disk together with its name."""
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft, name = tempfile.mkstemp(prefix=".", dir=target.parent)
    try:
        with os.fdopen(draft, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise
    for folder in (target.parent, target.parent.parent):
        _sync(folder)


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
