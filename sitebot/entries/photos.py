"""Entries about photos. The picture itself lies beside the log under its hash; the entry makes the hash part of it."""

from __future__ import annotations

from dataclasses import dataclass

from sitebot.entries.base import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoKept(Entry):
    """A photo came and is kept byte for byte. Who sent it is the entry's own person."""

    sha256: str
    mime: str
    size: int
    width: int
    height: int
    #: The camera's own time as it says, which nobody has checked.
    taken: str | None = None
    #: The splices it shows, or what else: "sample", "cover", "place"; "" until somebody says.
    numbers: tuple[int, ...] = ()
    of: str = ""
    place: str | None = None
    day: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoPlaced(Entry):
    """What a photo kept before shows; more splices are added, never taken away. of "none": it belongs to nothing."""

    sha256: str
    numbers: tuple[int, ...] = ()
    of: str = ""
    place: str | None = None
