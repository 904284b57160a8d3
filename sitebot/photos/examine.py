"""Is it a photo that we take: by its content, never by its name. Nothing is decoded before its size is known.

What people send is never an exception: what is not taken is a value that says why.
"""

from __future__ import annotations

import hashlib
import io
import re
import warnings
import zipfile
from dataclasses import dataclass
from datetime import datetime

from PIL import Image, ImageFile, UnidentifiedImageError

#: What a phone makes is smaller; what is larger is something else.
MOST_BYTES = 20_000_000
MOST_PIXELS = 60_000_000
#: Above this many pixels Pillow itself refuses, should a header lie to us.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS
warnings.simplefilter("error", Image.DecompressionBombWarning)
ImageFile.LOAD_TRUNCATED_IMAGES = False

#: Kinds that Pillow may try, and what may come of it; MPO is how phones write a JPEG with a second picture behind it.
FORMATS = ("JPEG", "PNG", "WEBP")
_MIME = {"JPEG": "image/jpeg", "MPO": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
#: Brands of ISO 23008-12 files.
_HEIF = re.compile(rb"\A.{4}ftyp(heic|heix|hevc|heim|heis|mif1|msf1|avif|avis)", re.DOTALL)
#: What must not also stand in a photo: the file would be two things at once. Readers of a PDF and of a page look for
#: its sign near the beginning, an interpreter or an unpacker takes it anywhere.
_HEAD = re.compile(rb"%PDF-|<\s*(?:!doctype|html|script|svg|body|iframe)", re.IGNORECASE)
_ANYWHERE = (b"<?php", b"Rar!\x1a\x07", b"7z\xbc\xaf\x27\x1c")
_EXIF_IFD, _TAKEN, _OFFSET = 0x8769, 0x9003, 0x9011


@dataclass(frozen=True, slots=True)
class Photo:
    """What a photo says of itself. Its own clock may be wrong: ``taken`` is noted, never believed."""

    sha256: str
    mime: str
    size: int
    width: int
    height: int
    #: EXIF time as ISO text, without a zone where the camera gave none.
    taken: str | None = None


@dataclass(frozen=True, slots=True)
class NotTaken:
    """Why a photo is not kept: empty, too_big, heic, not_photo, too_many_pixels, damaged, two_things."""

    why: str


def examine(data: bytes) -> Photo | NotTaken:
    """Look at a file from outside."""
    if why := _why_not(data):
        return NotTaken(why)
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as image:
            if image.width * image.height > MOST_PIXELS:
                return NotTaken("too_many_pixels")
            if image.format != "MPO" and getattr(image, "n_frames", 1) > 1:
                return NotTaken("not_photo")
            mime, (width, height), taken = _MIME[str(image.format)], image.size, _taken(image)
            image.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        return NotTaken("too_many_pixels")
    except UnidentifiedImageError:
        return NotTaken("not_photo")
    except Exception:  # a decoder given hostile bytes may raise anything; it is never our failure
        return NotTaken("damaged")
    if not _is_whole(data):
        return NotTaken("damaged")
    return Photo(hashlib.sha256(data).hexdigest(), mime, len(data), width, height, taken)


def _why_not(data: bytes) -> str:
    """What can be told without opening it."""
    if not data:
        return "empty"
    if len(data) > MOST_BYTES:
        return "too_big"
    if _HEIF.match(data):
        return "heic"
    if not (data[:3] == b"\xff\xd8\xff" or data[:8] == b"\x89PNG\r\n\x1a\n" or _is_webp(data)):
        return "not_photo"
    return "two_things" if _is_more(data) else ""


def _is_webp(data: bytes) -> bool:
    return data[:4] == b"RIFF" and data[8:12] == b"WEBP"


def _is_more(data: bytes) -> bool:
    """Does it read as another kind of file too? A phone's own addition (a second picture, a short film) does not."""
    if _HEAD.search(data, 0, 2048) or any(mark in data for mark in _ANYWHERE):
        return True
    try:
        with zipfile.ZipFile(io.BytesIO(data)):
            return True
    except Exception:  # no archive: what zipfile makes of a photo's bytes is no matter
        return False


def _is_whole(data: bytes) -> bool:
    """Some decoders are content with a picture whose end is missing."""
    if _is_webp(data):
        return len(data) >= 8 + int.from_bytes(data[4:8], "little")
    if data[:2] == b"\xff\xd8":
        return b"\xff\xd9" in data[len(data) // 2 :]
    try:
        Image.open(io.BytesIO(data), formats=("PNG",)).verify()  # closes the file itself
    except Exception:  # a wrong check sum, in whatever words
        return False
    return True


def _taken(image: Image.Image) -> str | None:
    """The camera's own time, where it is one."""
    try:
        exif = image.getexif().get_ifd(_EXIF_IFD)
        moment = datetime.strptime(str(exif[_TAKEN]).strip(), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007 - as the camera says
        offset = str(exif.get(_OFFSET, "")).strip()
        return moment.isoformat() + (offset if re.fullmatch(r"[+-]\d\d:\d\d", offset) else "")
    except Exception:  # no time, or metadata that is not what it should be
        return None
