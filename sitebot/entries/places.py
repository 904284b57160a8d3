"""Entries about the site: its settings, places and their plan, what things are called."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sitebot.entries.base import FREE, Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSet(Entry):
    """The site file as loaded, without names and addresses."""

    name: str
    zone: str
    settings: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacePlanned(Entry):
    """How many splices of each kind a place shall have."""

    place: str
    kinds: Mapping[str, int]
    #: As the site file has it; what chat or a table changed stays until the file itself changes.
    by_file: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NameTaught(Entry):
    said: str = field(metadata=FREE)
    meant: str = field(metadata=FREE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ActConfirmed(Entry):
    """The code sent to the number on the roster came back: the entries behind this one are that person's own."""

    act: str
    #: The row of the message that asked for it.
    asked: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeMissed(Entry):
    """Three wrong codes came for these acts; none of them was done."""

    acts: tuple[str, ...]
    asked: int
