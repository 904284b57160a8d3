"""Events as values: whatever a server sends becomes an ``Event`` or nothing. No network, no library, no meaning.

Everything here may be hostile: a field is taken only when it has the type the specification gives it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError


class Event(BaseModel):
    """One event of a room, decrypted if it was encrypted."""

    model_config = ConfigDict(frozen=True, strict=True)

    event_id: str = ""
    sender: str
    type: str
    origin_server_ts: int = Field(default=0, ge=0, le=253_402_300_799_000)
    content: dict[str, Any]
    state_key: str | None = None
    redacts: str = ""

    @property
    def at(self) -> datetime:
        return datetime.fromtimestamp(self.origin_server_ts / 1000, UTC)

    @property
    def relation(self) -> str:
        """How it relates to another event: m.thread, m.replace, m.annotation ..."""
        return text_at(self.content, "m.relates_to", "rel_type")

    @property
    def related_to(self) -> str:
        return text_at(self.content, "m.relates_to", "event_id")

    @property
    def thread(self) -> str:
        """The event its thread began with; empty outside of threads."""
        return self.related_to if self.relation == "m.thread" else ""

    @property
    def reply_to(self) -> str:
        return text_at(self.content, "m.relates_to", "m.in_reply_to", "event_id")


def event_of(source: Any) -> Event | None:
    """The event in a piece of JSON, or nothing."""
    try:
        return Event.model_validate(source)
    except ValidationError:
        return None


def source_of(item: Any) -> dict[str, Any]:
    """The JSON that an object of the library carries with it; of memberships it takes the content out."""
    source = getattr(item, "source", None)
    if not isinstance(source, dict):
        return {}
    return source if "content" in source else {**source, "content": getattr(item, "content", None)}


def event_from(item: Any) -> Event | None:
    """The event in an object of the library."""
    return event_of(source_of(item))


def events_of(found: Iterable[Any]) -> list[Event]:
    """The events among the library's objects."""
    events = map(event_from, found)
    return [event for event in events if event is not None]


def at_path(content: Any, *path: str) -> Any:
    """What stands at a path of keys, None where it breaks off."""
    for key in path:
        content = content.get(key) if isinstance(content, Mapping) else None
    return content


def text_at(content: Any, *path: str) -> str:
    """The text at a path of keys; empty where there is none."""
    found = at_path(content, *path)
    return found if isinstance(found, str) else ""
