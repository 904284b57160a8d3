"""What we know of each room, in rows that are committed with the messages: encrypted or not, who is in it.

No request is made here; the library's own picture of a room is not relied on, since it is gone after a restart.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from pydantic import TypeAdapter

from sitebot.channels.matrix.events import Event

#: Key of a room's row in the channel's state; an empty value means: forget.
ROW = "room:"


@dataclass(frozen=True, slots=True)
class Room:
    """A room as last heard of. ``people`` are the others in it: "join" or "invite" by user id."""

    id: str
    #: Once true, true for ever: a later state that says otherwise is a trick or a mistake.
    encrypted: bool = False
    joined: bool = True
    people: Mapping[str, str] = field(default_factory=dict)

    @property
    def direct(self) -> bool:
        """One other person: everything said there is said to us."""
        return self.joined and len(self.people) == 1


ROOM: TypeAdapter[Room] = TypeAdapter(Room)


class RoomBook:
    """All rooms, by id."""

    def __init__(self, me: str, state: Mapping[str, str]) -> None:
        self._me = me
        rooms = (ROOM.validate_json(value) for key, value in state.items() if key.startswith(ROW) and value)
        self._rooms = {room.id: room for room in rooms}
        self._changed = asyncio.Event()

    def __iter__(self) -> Iterator[Room]:
        return iter(tuple(self._rooms.values()))

    def get(self, room_id: str) -> Room | None:
        return self._rooms.get(room_id)

    def is_joined(self, room_id: str) -> bool:
        room = self._rooms.get(room_id)
        return room is not None and room.joined

    def direct_with(self, person: str) -> Room | None:
        """The direct room with a person, one he has joined before one he is only invited to."""
        found = [room for room in self if room.direct and person in room.people]
        return max(found, key=lambda room: room.people[person] == "join", default=None)

    def note(self, room_id: str, events: Iterable[Event]) -> dict[str, str]:
        """Take in state and membership of a joined room; the row to commit, if anything is new."""
        before = self._rooms.get(room_id)
        room = replace(before or Room(room_id), joined=True)
        for event in events:
            room = after(room, event, self._me)
        return self._put(room) if room != before else {}

    def left(self, room_id: str) -> dict[str, str]:
        """We were thrown out, or left. What we know of its encryption stays."""
        room = self._rooms.get(room_id)
        return self._put(replace(room, joined=False, people={})) if room and room.joined else {}

    def _put(self, room: Room) -> dict[str, str]:
        self._rooms[room.id] = room
        self._changed.set()
        self._changed = asyncio.Event()
        return {ROW + room.id: ROOM.dump_json(room).decode()}

    async def seen(self, room_id: str, person: str) -> None:
        """Wait until a sync has brought the person in the room: only then his devices get its keys."""
        while person not in (room.people if (room := self._rooms.get(room_id)) else ()):
            await self._changed.wait()


def after(room: Room, event: Event, me: str) -> Room:
    """The room after one event."""
    if event.state_key is None:
        return room
    if event.type == "m.room.encryption":
        return replace(room, encrypted=True)
    if event.type == "m.room.member" and event.state_key != me:
        others = {person: how for person, how in room.people.items() if person != event.state_key}
        membership = event.content.get("membership")
        if membership in ("join", "invite"):
            others[event.state_key] = membership
        return replace(room, people=others)
    return room
