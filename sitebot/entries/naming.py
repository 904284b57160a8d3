"""Names in free text, kept as ids, so that an erased name is gone from the chain without touching it."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Mapping
from typing import Any

from sitebot.entries.base import Entry

_ID = re.compile(r"\{(p\d+)\}")


def has_free_text(entry: Entry) -> bool:
    return any(f.metadata.get("free") for f in dataclasses.fields(entry))


def by_ids(entry: Entry, names: Mapping[str, str]) -> Entry:
    """The entry with names as words of their own replaced by "{id}" in its free text."""
    found = sorted((n for n in names if len(n) > 2), key=len, reverse=True)
    if not found:
        return entry
    ids = {n.casefold(): names[n] for n in found}
    pattern = re.compile(r"(?<![\w{])(" + "|".join(map(re.escape, found)) + r")(?![\w}])", re.IGNORECASE)

    def replaced(value: Any) -> Any:
        if isinstance(value, str):
            return pattern.sub(lambda m: f"{{{ids.get(m[1].casefold(), m[1])}}}", value)
        if isinstance(value, Mapping):
            return {k: replaced(v) for k, v in value.items()}
        return [replaced(v) for v in value] if isinstance(value, list | tuple) else value

    free = [f.name for f in dataclasses.fields(entry) if f.metadata.get("free")]
    return dataclasses.replace(entry, **{name: replaced(getattr(entry, name)) for name in free})


def named(value: Any, name_of: Callable[[str], str]) -> Any:
    """A text, or a body of an entry, with names again as far as they are known still."""
    if isinstance(value, str):
        return _ID.sub(lambda m: name_of(m[1]), value) if "{p" in value else value
    if isinstance(value, Mapping):
        return {k: named(v, name_of) for k, v in value.items()}
    return [named(v, name_of) for v in value] if isinstance(value, list) else value
