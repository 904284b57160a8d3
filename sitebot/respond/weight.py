"""What is of weight: entries that a forged address must not cause by itself, and the words for them.

Judged by what an answer would record, never by how it was said, so that no way of saying it goes round the question.
Ordinary reports and first verdicts are none of them: they come by the dozen, and their owner reads the reply.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict

from sitebot.entries import (
    AddressAsked,
    Entry,
    PersonErased,
    PersonJoined,
    PersonLeft,
    PlacePlanned,
    PourReleased,
    SpliceCorrected,
    SpliceRenumbered,
    SpliceVoided,
    TextsStopped,
    VerdictGiven,
)
from sitebot.message import Say, Term
from sitebot.respond.desk import Desk
from sitebot.respond.people import names_of

#: More numbers than this are told by their count: the question stays one part.
MOST_NUMBERS = 8


def weight(entries: Sequence[Entry], desk: Desk) -> tuple[Say, ...]:
    """What of these entries is of weight, in words; nothing where none is."""
    says = [Say("codes.release", {"place": e.place}) for e in entries if isinstance(e, PourReleased)]
    says += [Say("codes.plan", {"place": e.place}) for e in entries if isinstance(e, PlacePlanned)]
    voided = [e.number for e in entries if isinstance(e, SpliceVoided) and not _is_own(e.number, desk)]
    changed = [n for e in entries if (n := _changed(e, desk))]
    for key, numbers in (("void", voided), ("change", changed), *_verdicts(entries, desk)):
        if numbers:
            says.append(Say(f"codes.{key}", {"which": _which(numbers)}))
    if people := [p for e in entries if (p := _moved(e, desk))]:
        fresh = {e.person: e.name for e in entries if isinstance(e, PersonJoined)}
        names = [fresh.get(p) or desk.log.name_of(p) for p in dict.fromkeys(people)]
        says.append(Say("codes.people", {"names": names}))
    if erased := [e.person for e in entries if isinstance(e, PersonErased)]:
        says.append(Say("codes.erase", {"names": names_of(erased, desk)}))
    if others := [e.person for e in entries if isinstance(e, TextsStopped) and e.person != desk.me]:
        says.append(Say("codes.texts", {"names": names_of(others, desk)}))
    return tuple(says)


def digest(entries: Iterable[Entry]) -> str:
    """Tells whether an act that is answered anew would do what was asked about."""
    plain = [[type(e).__name__, asdict(e)] for e in entries]
    return hashlib.sha256(json.dumps(plain, sort_keys=True, default=str).encode()).hexdigest()[:32]


def _is_own(number: int, desk: Desk) -> bool:
    splice = desk.log.splice(number)
    return splice is not None and (desk.me == splice.told_by or desk.me in splice.welders)


def _changed(entry: Entry, desk: Desk) -> int | None:
    """The number of somebody else's splice that is to read otherwise; what only fills a gap takes nothing back."""
    if not isinstance(entry, SpliceRenumbered | SpliceCorrected) or _is_own(entry.number, desk):
        return None
    fills = isinstance(entry, SpliceCorrected) and all(w in (None, [], "", "unknown") for w in entry.was.values())
    return None if fills else entry.number


def _verdicts(entries: Sequence[Entry], desk: Desk) -> list[tuple[str, list[int]]]:
    """Verdicts that lift a rejection, and any at a place that is released already."""
    given = [e for e in entries if isinstance(e, VerdictGiven) and _is_weighty(e, desk)]
    kinds = ("accept", "reject", "pending")
    return [(kind, [e.number for e in given if e.verdict == kind]) for kind in kinds]


def _is_weighty(entry: VerdictGiven, desk: Desk) -> bool:
    splice = desk.log.splice(entry.number)
    if splice is None:
        return False
    lifts = splice.status == "rejected" and entry.verdict != "reject"
    return lifts or bool(splice.place and desk.log.releases(splice.place))


def _moved(entry: Entry, desk: Desk) -> str:
    """Who leaves, or changes in role or address; a new name without either can do nothing here."""
    if isinstance(entry, PersonLeft | AddressAsked):
        return entry.person
    if not isinstance(entry, PersonJoined):
        return ""
    was = next((p for p in desk.log.people() if p.id == entry.person), None)
    before = (was.role, was.addresses) if was else ("crew", ())
    same = (entry.role, entry.addresses) == before or (was is None and not entry.role and not entry.addresses)
    return "" if same else entry.person


def _which(numbers: Sequence[int]) -> object:
    if len(numbers) <= MOST_NUMBERS:
        return [Say("codes.numbers", {"numbers": list(numbers)})]
    return [Say("codes.count", {"n": len(numbers), "splices": Term("splice", len(numbers))})]
