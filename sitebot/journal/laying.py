"""The files of a message laid down on the disk, before any row names them. No database here."""

from __future__ import annotations

from sitebot.journal.engine import DatabaseDown
from sitebot.message import Attached, Media
from sitebot.photos import MOST_BYTES, Folder

#: Of one message; no phone sends more at once.
MOST_PHOTOS = 10


def laid_down(media: Media, folder: Folder | None) -> Attached:
    """A photo kept under its hash, or only its name and size. A disk that is full is waited for like the database."""
    is_kept = folder is not None and 0 < len(media.data) <= MOST_BYTES
    try:
        sha256 = folder.put(media.data) if folder is not None and is_kept else ""
    except OSError as error:
        raise DatabaseDown(f"photos cannot be kept now: {error.strerror}") from error
    return Attached(media.name[:200], media.mime[:100], len(media.data), sha256)
