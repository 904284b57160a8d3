"""A report before it is typeset: its words in order. What they say is the reports' matter, the look typeset.py's."""

from __future__ import annotations

from dataclasses import dataclass

from sitebot.message import Language


@dataclass(frozen=True, slots=True)
class Table:
    """A table; ``widths``: "auto" or a share of what is left, one a column."""

    title: str
    columns: tuple[str, ...]
    widths: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    #: What stands there when there are no rows.
    empty: str = ""


@dataclass(frozen=True, slots=True)
class Lines:
    """Sentences one below the other."""

    title: str
    lines: tuple[str, ...]
    empty: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing; ``width`` is its share of the line."""

    title: str
    svg: bytes
    #: What it shows, for who cannot see it.
    alt: str
    width: float = 1.0


@dataclass(frozen=True, slots=True)
class Shot:
    """A photo by the hash of its original, and what stands below it."""

    sha256: str
    caption: str


@dataclass(frozen=True, slots=True)
class Shots:
    """Small photos side by side."""

    title: str
    shots: tuple[Shot, ...]
    #: What stands in the place of one whose file is gone.
    missing: str
    #: What is said of those that are not shown.
    more: str = ""


Block = Table | Lines | Picture | Shots
"""A part of a report under its own heading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole report in one language."""

    title: str
    site: str
    #: The day it is about, or nothing.
    date: str
    language: Language
    facts: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    signatures: tuple[str, ...]
    caution: str
    #: Year, month and day it was made.
    made: tuple[int, int, int]
    #: How many entries the log had, and when; the hash of the last one stands below.
    seal: str
    hash: str
    footer: str
    #: The word before the page number.
    page: str
    #: "us-letter" or "a4"
    paper: str = "us-letter"
