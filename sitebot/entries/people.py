"""Entries about people: who is on the roster, in which language, at which address. Names and addresses stand apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sitebot.entries.base import APART, Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonJoined(Entry):
    """Somebody came on the roster or changed there. Role "": only named in a report."""

    person: str
    role: str
    language: str = "en"
    name: str = field(default="", metadata=APART)
    addresses: tuple[str, ...] = field(default=(), metadata=APART)
    #: Role, language and addresses as the site file gives them: what chat changed stays until the file itself changes.
    filed: Mapping[str, Any] | None = field(default=None, metadata=APART)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonLeft(Entry):
    """Somebody is off the roster, by chat or because the site file lists him no more."""

    person: str
    by_file: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LanguageChosen(Entry):
    person: str
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TextsStopped(Entry):
    """The person wants no more texts started by the assistant; ``stopped`` False: he wants them again."""

    person: str
    stopped: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachChanged(Entry):
    """Texts to the person do not arrive: ``why`` is "missed", "network" or "stopped"; "" they arrive again."""

    person: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AddressAsked(Entry):
    """A new number or Matrix name was told for somebody; it counts once it answers, until then it waits."""

    person: str
    until: str
    address: str = field(default="", metadata=APART)


@dataclass(frozen=True, slots=True, kw_only=True)
class AddressConfirmed(Entry):
    """The new address answered yes; it takes the place of the old one of its kind."""

    person: str
    address: str = field(default="", metadata=APART)


@dataclass(frozen=True, slots=True, kw_only=True)
class AddressRefused(Entry):
    """The new address answered no."""

    person: str
    address: str = field(default="", metadata=APART)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonErased(Entry):
    """Name, addresses and texts of somebody were erased on request; what he did stays under his id."""

    person: str
