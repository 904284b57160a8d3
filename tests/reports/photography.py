"""Pictures made up for tests: with or without EXIF, GPS, a comment, noise that does not compress."""

import io
import random

from PIL import Image

#: Stands in the GPS block of a made-up photo, to be looked for in what is passed on.
GPS_WORD = b"made-up datum"


def picture(width=160, height=120, noise=False, seed=1):
    """A grey picture with a red left edge, so that turning it shows."""
    image = Image.new("RGB", (width, height), (90, 90, 90))
    image.paste((220, 20, 20), (0, 0, max(1, width // 10), height))
    if noise:
        dice = random.Random(seed)
        spots = Image.frombytes("RGB", (width, height), dice.randbytes(3 * width * height))
        image = Image.blend(image, spots, 0.5)
    return image


def jpeg(width=160, height=120, noise=False, seed=1, taken="", offset="", gps=False, orientation=1, comment=b""):
    exif = Image.Exif()
    if orientation != 1:
        exif[0x0112] = orientation
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    if offset:
        exif.get_ifd(0x8769)[0x9011] = offset
    if gps:
        place = exif.get_ifd(0x8825)
        place[1], place[2] = "N", (39.0, 44.0, 21.0)
        place[3], place[4] = "W", (104.0, 59.0, 5.0)
        place[18] = GPS_WORD.decode()
    out = io.BytesIO()
    extra = {"exif": exif} if len(exif) or taken or gps else {}
    if comment:
        extra["comment"] = comment
    picture(width, height, noise, seed).save(out, "JPEG", quality=85, **extra)
    return out.getvalue()


def png(width=160, height=120, noise=False, seed=1):
    out = io.BytesIO()
    picture(width, height, noise, seed).save(out, "PNG")
    return out.getvalue()


def webp(width=160, height=120, noise=False, seed=1):
    out = io.BytesIO()
    picture(width, height, noise, seed).save(out, "WEBP", quality=80)
    return out.getvalue()
