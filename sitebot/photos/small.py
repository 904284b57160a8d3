"""A copy of a photo for others: upright, small, without any metadata. The only form in which a photo is passed on."""

from __future__ import annotations

import io

from PIL import Image, ImageOps

from sitebot.photos.examine import FORMATS

#: Longest side [px]: in a report, and in chat.
REPORT_PX, CHAT_PX = 400, 1600


def small(data: bytes, longest_px: int = REPORT_PX) -> bytes:
    """JPEG of an examined photo. The picture is painted anew, so that no tag, place or comment comes along."""
    with Image.open(io.BytesIO(data), formats=FORMATS) as image:
        # A JPEG is decoded no larger than needed: a tenth of the time and memory.
        image.draft("RGB", (longest_px, longest_px))
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((longest_px, longest_px))
        flat = Image.new("RGB", upright.size, "white")
        with_alpha = upright.convert("RGBA") if "A" in upright.getbands() or "transparency" in upright.info else None
        flat.paste(with_alpha or upright.convert("RGB"), mask=with_alpha)
    out = io.BytesIO()
    flat.save(out, "JPEG", quality=78, optimize=True)
    return out.getvalue()
