"""Parts of long texts put together, in whatever order they come, twice or not at all.

Pure: groups in, groups out, time passed in. Groups are kept as JSON with the channel's state, so a crash loses none.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sitebot.channels.sms.line import Heard
from sitebot.wording import gsm

#: Parts of one message leave a phone in one go; a part stamped further away belongs to another with the same reference.
ONE_GO = timedelta(minutes=10)
#: A message without all its parts this long after its last one is half-received.
HALF_AFTER = timedelta(seconds=60)
#: How long a finished message is remembered, to know late and repeated parts.
REMEMBER = timedelta(days=1)
MOST_REMEMBERED = 100
#: More parts than an inbound text may have here; a longer one is some robot's.
MOST_PARTS_IN = 12


@dataclass(frozen=True, slots=True)
class Group:
    """The parts of one message so far, by place: id and text. Finished groups keep the ids only."""

    sender: str
    reference: int
    total: int
    began: datetime
    last: datetime
    parts: dict[int, tuple[str, str]]
    finished: bool = False

    @property
    def is_whole(self) -> bool:
        return len(self.parts) == self.total


@dataclass(frozen=True, slots=True)
class Whole:
    """A message with all its parts."""

    id: str
    sender: str
    text: str
    at: datetime | None
    source: Heard


Groups = tuple[Group, ...]


def take(groups: Groups, heard: Heard, now: datetime) -> tuple[Groups, Whole | None]:
    """The groups with one more part, and the message it completes."""
    if not 1 < heard.total <= MOST_PARTS_IN or not 1 <= heard.place <= heard.total:
        return groups, Whole(heard.id, heard.sender, gsm.mend(heard.text), heard.at, heard)
    at = heard.at or now
    for group in reversed(groups):
        if not _same_message(group, heard, at):
            continue
        if heard.place in group.parts or group.finished:
            return groups, None
        grown = replace(group, last=now, parts={**group.parts, heard.place: (heard.id, heard.text)})
        rest = tuple(g for g in groups if g is not group)
        return _settled(rest, grown, heard)
    fresh = Group(heard.sender, heard.reference, heard.total, at, now, {heard.place: (heard.id, heard.text)})
    return (*groups, fresh), None


def _same_message(group: Group, heard: Heard, at: datetime) -> bool:
    same = (group.sender, group.reference, group.total) == (heard.sender, heard.reference, heard.total)
    if not same or abs(at - group.began) > ONE_GO:
        return False
    known = group.parts.get(heard.place)
    # Another part at a place already taken: the phone uses the reference again, for a new message.
    return known is None or known[0] == heard.id


def _settled(rest: Groups, grown: Group, heard: Heard) -> tuple[Groups, Whole | None]:
    if not grown.is_whole:
        return (*rest, grown), None
    ordered = [grown.parts[place] for place in sorted(grown.parts)]
    ident = hashlib.sha256("|".join(i for i, _ in ordered).encode()).hexdigest()[:40]
    # Joined before they are read: a surrogate pair or an escape may straddle two parts.
    whole = Whole(ident, grown.sender, gsm.mend("".join(text for _, text in ordered)), grown.began, heard)
    return (*rest, _finished(grown)), whole


def _finished(group: Group) -> Group:
    return replace(group, finished=True, parts={place: (i, "") for place, (i, _) in group.parts.items()})


def expire(groups: Groups, now: datetime, after: timedelta = HALF_AFTER) -> tuple[Groups, list[Group]]:
    """The groups without what is too old to matter, and those found half-received; each is found once."""
    halves = [g for g in groups if not g.finished and now - g.last >= after]
    kept = [_finished(g) if g in halves else g for g in groups if now - g.last < REMEMBER]
    done = [g for g in kept if g.finished][-MOST_REMEMBERED:]
    return tuple(g for g in kept if not g.finished or g in done), halves


def concatenation(header: bytes) -> tuple[int, int, int]:
    """Reference, number of parts and place of a part by its user data header (TS 23.040, 9.2.3.24.1 and .8)."""
    at = 1
    while at + 1 < len(header):
        kind, size = header[at], header[at + 1]
        value = header[at + 2 : at + 2 + size]
        if kind == 0x00 and len(value) == size == 3:
            return value[0], value[1], value[2]
        if kind == 0x08 and len(value) == size == 4:
            return value[0] << 8 | value[1], value[2], value[3]
        at += 2 + size
    return 0, 1, 1


def to_json(groups: Sequence[Group]) -> str:
    """As text for the channel's state."""
    return json.dumps(
        [
            {
                "from": g.sender,
                "ref": g.reference,
                "of": g.total,
                "began": g.began.isoformat(),
                "last": g.last.isoformat(),
                "parts": {str(place): list(part) for place, part in g.parts.items()},
                "finished": g.finished,
            }
            for g in groups
        ]
    )


def of_json(text: str) -> Groups:
    """The groups as they were kept; none where nothing was."""
    return tuple(
        Group(
            sender=g["from"],
            reference=g["ref"],
            total=g["of"],
            began=datetime.fromisoformat(g["began"]),
            last=datetime.fromisoformat(g["last"]),
            parts={int(place): (part[0], part[1]) for place, part in g["parts"].items()},
            finished=g["finished"],
        )
        for g in json.loads(text or "[]")
    )
