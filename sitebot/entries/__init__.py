"""What has happened, in the past tense: the entries of the journal.

Plain frozen values that turn into JSON and back. How they are kept stands in journal/; who may cause them in respond/.
A field marked ``apart`` (names, addresses) is stored beside the chain and can be erased without touching it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from sitebot.entries.base import APART, FREE, Entry
from sitebot.entries.day import (
    Acknowledged,
    CrewSet,
    DayPlanned,
    DayWished,
    IronReported,
    Reminded,
    SampleReported,
    WeatherTold,
)
from sitebot.entries.naming import by_ids, has_free_text, named
from sitebot.entries.people import (
    AddressAsked,
    AddressConfirmed,
    AddressRefused,
    LanguageChosen,
    PersonErased,
    PersonJoined,
    PersonLeft,
    ReachChanged,
    TextsStopped,
)
from sitebot.entries.photos import PhotoKept, PhotoPlaced
from sitebot.entries.places import (
    ActConfirmed,
    CodeMissed,
    NameTaught,
    PlacePlanned,
    SiteSet,
)
from sitebot.entries.splices import (
    CutOut,
    DamageReported,
    FindingNoted,
    PourPlanned,
    PourReleased,
    ReleaseRelayed,
    SpliceCorrected,
    SpliceRenumbered,
    SpliceReported,
    SpliceVoided,
    VerdictGiven,
    VerdictRelayed,
    WishKept,
)

__all__ = [
    "APART",
    "FREE",
    "KINDS",
    "Acknowledged",
    "ActConfirmed",
    "AddressAsked",
    "AddressConfirmed",
    "AddressRefused",
    "CodeMissed",
    "CrewSet",
    "CutOut",
    "DamageReported",
    "DayPlanned",
    "DayWished",
    "Entry",
    "FindingNoted",
    "IronReported",
    "LanguageChosen",
    "NameTaught",
    "PersonErased",
    "PersonJoined",
    "PersonLeft",
    "PhotoKept",
    "PhotoPlaced",
    "PlacePlanned",
    "PourPlanned",
    "PourReleased",
    "ReachChanged",
    "ReleaseRelayed",
    "Reminded",
    "SampleReported",
    "SiteSet",
    "SpliceCorrected",
    "SpliceRenumbered",
    "SpliceReported",
    "SpliceVoided",
    "TextsStopped",
    "VerdictGiven",
    "VerdictRelayed",
    "WeatherTold",
    "WishKept",
    "body_of",
    "by_ids",
    "entry_of",
    "has_free_text",
    "named",
]

KINDS: Mapping[str, type[Entry]] = {cls.__name__: cls for cls in Entry.__subclasses__()}


def body_of(entry: Entry) -> dict[str, Any]:
    """What goes into the chain: every field but those kept apart."""
    return {f.name: getattr(entry, f.name) for f in dataclasses.fields(entry) if not f.metadata.get("apart")}


def entry_of(kind: str, body: Mapping[str, Any]) -> Entry:
    """The entry of a stored kind and body; fields kept apart are empty."""
    cls = KINDS[kind]
    values = {k: tuple(v) if isinstance(v, list) else v for k, v in body.items()}
    return cls(**values)
