"""The masked words before and after a place in the text, for rules that look at a number's neighbours."""

from __future__ import annotations

from sitebot.understand.marks import Text


def _index(text: Text, at: int) -> int:
    row, places = text.row()
    return next((i for i, p in enumerate(places) if p >= at and i and row[i - 1] == " "), len(row))


def before(text: Text, at: int) -> str:
    """Masked words before a token."""
    return text.row()[0][: _index(text, at)].strip()


def after(text: Text, at: int) -> str:
    """Masked words from a token on."""
    return text.row()[0][_index(text, at) :].strip()


def between(text: Text, start: int, end: int) -> str:
    """Masked words of a stretch, padded with spaces."""
    row = text.row()[0]
    return f" {row[_index(text, start) : _index(text, end)].strip()} " if end > start else " "
