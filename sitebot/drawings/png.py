"""A sheet as a PNG picture, drawn with Pillow. Only the translation of shapes lives here.

Pillow: kept for thirty years, no dependency of its own, wheels for every system, and a scalable font inside (basic
Latin without accents, which is why labels of drawings do without them).
"""

from __future__ import annotations

import io
import itertools
import math
from functools import cache

from PIL import Image, ImageDraw, ImageFont

from sitebot.drawings.scene import PAPER, SHEET_WIDTH, Label, Line, Point, Polygon, Shape, Sheet

#: Pixels of the picture to a unit of the sheet; drawn larger and reduced, since Pillow's lines have hard edges.
SCALE, OVERSAMPLE = 2, 2
_ANCHORS = {"start": "lm", "middle": "mm", "end": "rm"}


def png(sheet: Sheet) -> bytes:
    """The sheet as a PNG 1200 pixels wide."""
    grown = SCALE * OVERSAMPLE
    image = Image.new("RGB", (round(SHEET_WIDTH * grown), round(sheet.height * grown)), PAPER)
    draw = ImageDraw.Draw(image)
    for shape in sheet.shapes:
        _add(draw, shape, grown)
    small = image.reduce(OVERSAMPLE)
    out = io.BytesIO()
    small.quantize(64, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE).save(out, "PNG")
    return out.getvalue()


@cache
def font(size: float) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """Pillow's own scalable font."""
    return ImageFont.load_default(size)


def has_glyphs(text: str) -> bool:
    """Whether the font can write a text (basic Latin and the degree sign)."""
    return all(" " <= c <= "~" or c == "°" for c in text)


def _add(draw: ImageDraw.ImageDraw, shape: Shape, scale: int) -> None:
    match shape:
        case Polygon(points, fill, line, width):
            grown = [(x * scale, y * scale) for x, y in points]
            if fill:
                draw.polygon(grown, fill=fill)
            if line:
                draw.line([*grown, grown[0], grown[1]], fill=line, width=round(width * scale), joint="curve")
        case Line(points, colour, width, is_dashed):
            for part in dashes(points) if is_dashed else (points,):
                draw.line([(x * scale, y * scale) for x, y in part], colour, round(width * scale), joint="curve")
        case Label():
            x, y = (shape.at[0] + shape.shift[0]) * scale, (shape.at[1] + shape.shift[1]) * scale
            draw.text(
                (x, y), shape.text, fill=shape.colour, font=font(shape.size * scale), anchor=_ANCHORS[shape.anchor]
            )


def dashes(points: tuple[Point, ...], dash: float = 9.0, gap: float = 7.0) -> list[tuple[Point, Point]]:
    """The strokes of a dashed run of points."""
    parts: list[tuple[Point, Point]] = []
    for a, b in itertools.pairwise(points):
        length = math.dist(a, b)
        at = 0.0
        while at < length:
            end = min(at + dash, length)
            parts.append((_along(a, b, at / length), _along(a, b, end / length)))
            at = end + gap
    return parts


def _along(a: Point, b: Point, share: float) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
