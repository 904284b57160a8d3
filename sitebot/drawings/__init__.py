"""Pictures of cuts as SVG and PNG: what an answer names in ``picture`` goes in, bytes come out; nothing is sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sitebot.drawings.pictures import sheet_of
from sitebot.drawings.png import png
from sitebot.drawings.svg import svg
from sitebot.wording.render import terms


@dataclass(frozen=True, slots=True)
class Drawing:
    """One picture in both formats, and what it shows in words."""

    title: str
    svg: bytes
    png: bytes


def draw(picture: Mapping[str, Any], language: str) -> Drawing:
    """The drawing of ``Answer.picture`` in a language."""
    sheet = sheet_of(picture, terms(language))
    return Drawing(sheet.title, svg(sheet), png(sheet))
