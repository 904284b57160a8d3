"""Photos in reports: which of them are shown, and what stands below each. The pictures themselves are fetched later."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence

from sitebot.message import Term
from sitebot.record import KeptPhoto, Splice
from sitebot.reports.document import Shot, Shots
from sitebot.reports.words import Words
from sitebot.respond.desk import Desk

#: A day's report is a few pages; the dossier shows all.
MOST_OF_A_DAY = 12


def of_splices(numbers: Container[int], desk: Desk) -> tuple[KeptPhoto, ...]:
    """The photos that show any of these splices, in the order of the first of them."""
    shown = [p for p in desk.log.photos() if any(n in numbers for n in p.numbers)]
    return tuple(sorted(shown, key=lambda p: min(n for n in p.numbers if n in numbers)))


def of_place(name: str, numbers: Container[int], days: Container[str], desk: Desk) -> tuple[KeptPhoto, ...]:
    """Everything seen of a place: the samples of its days, its splices, the place itself."""
    samples = [p for p in desk.log.photos() if p.of == "sample" and p.day in days]
    return (*samples, *of_splices(numbers, desk), *(p for p in desk.log.photos() if p.place == name))


def shots(title: str, photos: Sequence[KeptPhoto], day: str, desk: Desk, w: Words, most: int | None = None) -> Shots:
    """Small pictures, each with its number, what became of it, who sent it, and the hash of the original."""
    left = len(photos) - most if most and len(photos) > most else 0
    return Shots(
        title,
        tuple(Shot(p.sha256, _caption(p, day, desk, w)) for p in photos[:most]),
        w.label("photo_missing"),
        w.say("photos_more", n=left) if left else "",
    )


def _caption(photo: KeptPhoto, day: str, desk: Desk, w: Words) -> str:
    found = [s for n in photo.numbers if (s := desk.log.splice(n))]
    return w.say(
        "photo_caption",
        what="; ".join(_splice(s, w) for s in found) or photo.place or w.term(f"photo.{photo.of or 'none'}"),
        by=desk.log.name_of(photo.by),
        at=w.moment(photo.at, day),
    )


def _splice(s: Splice, w: Words) -> str:
    defect = Term(f"defect.{s.defect}") if s.defect and s.status == "rejected" else None
    return w.say("photo_splice", number=s.number, status=w.term(f"status.{s.status}"), defect=defect, redo=s.redo_of)


def waiting(photos: Iterable[KeptPhoto], day: str, desk: Desk, w: Words) -> list[str]:
    """Photos of the day of which nobody has said what they show."""
    return [
        w.say("photo_waits", by=desk.log.name_of(p.by), at=w.moment(p.at, day), hash=p.sha256[:12])
        for p in photos
        if p.waits
    ]
