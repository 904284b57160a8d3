"""What goes out at one moment: each line with its words; one text a person, however many lines are due or late."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from sitebot.entries import Reminded
from sitebot.message import Say
from sitebot.reminders.escalation import Turn, hearers, next_turn, text_kind
from sitebot.reminders.lines import LOOK, Seen, Wanted
from sitebot.reminders.other_lines import brief_says, line_values
from sitebot.respond import seal
from sitebot.respond.desk import Notice
from sitebot.respond.iron_names import irons_said

#: Later than this it is said that it comes late [min].
LATE_MIN = 15
#: More lines than this are given in short.
MOST_IN_FULL = 2
#: The kinds of personal reminders that have words of their own.
KNOWN_OWN = ("unplug", "preheat", "sample")


@dataclass(frozen=True, slots=True)
class Due:
    """A reminder that should go out now."""

    entry: Reminded
    notice: Notice


@dataclass(frozen=True, slots=True)
class Item:
    """One line as it goes out now."""

    line: Wanted
    turn: Turn
    to: tuple[str, ...]
    full: tuple[Say, ...] = field(hash=False, compare=False)
    short: Say = field(hash=False, compare=False)


def items(lines: Iterable[Wanted], seen: Seen) -> list[Item]:
    """The lines that are due and still have a reason and somebody to hear them."""
    found = []
    for line in lines:
        if line.kind == LOOK or (turn := next_turn(line, seen)) is None or turn.at > seen.now:
            continue
        to = tuple(p.id for p in hearers(line, turn, seen))
        if to and line.reason():
            found.append(_item(line, turn, to, seen))
    return found


def _item(line: Wanted, turn: Turn, to: tuple[str, ...], seen: Seen) -> Item:
    if line.kind.startswith("brief"):
        says = brief_says(line, seen)
        return Item(line, turn, to, says, says[0])
    if line.kind == "seal":
        told = seal.line(seen.log)
        return Item(line, turn, to, (told, Say("seal.stop")), told)
    values = line_values(line, seen)
    values["the_irons"] = irons_said(_irons_of(values))
    kind = text_kind(line) if line.kind != "own" or text_kind(line) in KNOWN_OWN else "own"
    key = line.phrase if line.phrase and turn.round == 0 else f"reminders.{kind}"
    again = "_again" if line.repeats and turn.round else ""
    return Item(line, turn, to, (Say(f"{key}{again}", values),), Say(f"reminders.short_{kind}", values))


def _irons_of(values: Mapping[str, object]) -> list[str]:
    irons = values.get("irons")
    return [str(i) for i in (irons if isinstance(irons, list) else [values.get("iron")]) if i]


def rounds(found: Sequence[Item], seen: Seen) -> list[Due]:
    """Each line's entry; and for whom more than one is due, one text with an entry of its own."""
    heard = [i for i in found if not _is_twin(i, found)]
    mine = {p: [i for i in heard if p in i.to] for i in heard for p in i.to}
    steps = _Steps(seen)
    due = []
    for item in found:
        alone = tuple(p for p in item.to if mine[p] == [item])
        says = (*(_late(item.turn.at, seen) if not item.turn.round else ()), *item.full)
        entry = Reminded(
            what=item.line.what,
            day=item.line.day.isoformat(),
            step=steps.next(item.line.what, item.line.day.isoformat()),
            to=item.to,
            iron=item.line.iron or None,
        )
        due.append(Due(entry, Notice(alone, says, "reminder", picture=item.line.picture)))
    return [*due, *_together(mine, steps, seen)]


def _together(mine: dict[str, list[Item]], steps: _Steps, seen: Seen) -> list[Due]:
    groups: dict[tuple[int, ...], list[str]] = {}
    for person, held in mine.items():
        if len(held) > 1:
            groups.setdefault(tuple(id(i) for i in held), []).append(person)
    day = seen.local.date().isoformat()
    return [
        Due(
            Reminded(what="round", day=day, step=steps.next("round", day), to=tuple(people)),
            Notice(tuple(people), _text(mine[people[0]], seen), "reminder", picture=_picture(mine[people[0]])),
        )
        for people in groups.values()
    ]


def _text(held: Sequence[Item], seen: Seen) -> tuple[Say, ...]:
    """A few on time in full; many, or late ones, in short."""
    if rides := [i.short for i in held if i.line.kind == "seal"]:
        # It takes no room of its own beside what else is due, and shortens nothing.
        others = [i for i in held if i.line.kind != "seal"]
        return (*(_text(others, seen) if others else ()), *rides)
    late = _late(min(i.turn.at for i in held), seen)
    if {i.line.kind for i in held} == {"melt"}:
        # Irons plugged in together get one question, not the same one twice.
        both = irons_said(sorted(i.line.iron for i in held))
        return (*late, replace(held[0].full[0], values={"the_irons": both}))
    if len(held) <= MOST_IN_FULL and not late:
        return tuple(say for item in held for say in item.full)
    return (*late, Say("reminders.several", {"lines": [i.short for i in held]}))


def _picture(held: Sequence[Item]) -> Mapping[str, object] | None:
    return next((item.line.picture for item in held if item.line.picture), None)


def _late(at: datetime, seen: Seen) -> tuple[Say, ...]:
    if seen.now - at <= timedelta(minutes=LATE_MIN):
        return ()
    return (Say("reminders.late", {"time": at.astimezone(seen.site.tz)}),)


def _is_twin(item: Item, found: Sequence[Item]) -> bool:
    """Did he ask for what the shift reminds him of anyway at this moment?"""
    if item.line.kind != "own":
        return False
    kind = text_kind(item.line)
    return set(item.to) <= {p for other in found if other.line.kind == kind for p in other.to}


class _Steps:
    """The number of each reminder of a name and day, from 0: its key in the outbox is made of it."""

    def __init__(self, seen: Seen) -> None:
        self._seen = seen
        self._given: dict[tuple[str, str], int] = {}

    def next(self, what: str, day: str) -> int:
        if (what, day) not in self._given:
            self._given[what, day] = sum(r.what == what for r in self._seen.reminded(day))
        self._given[what, day] += 1
        return self._given[what, day] - 1
