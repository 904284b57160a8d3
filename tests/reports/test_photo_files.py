"""Photos as files: what is taken, what is refused and why, what is passed on."""

import hashlib
import io
import os
import random
import struct
import time
import zipfile
import zlib

import pytest
from PIL import Image

from sitebot.photos import Folder, NotTaken, Photo, examine, small
from sitebot.photos.folder import ORPHAN_AGE_S
from tests.reports.photography import GPS_WORD, jpeg, png, webp


def why(data):
    found = examine(data)
    assert isinstance(found, NotTaken), found
    return found.why


@pytest.mark.parametrize(("make", "mime"), [(jpeg, "image/jpeg"), (png, "image/png"), (webp, "image/webp")])
def test_a_photo_is_told_by_its_content(make, mime):
    """JPEG, PNG and WebP are taken with their hash, size and sides, whatever name came with them."""
    data = make(320, 200)
    assert examine(data) == Photo(hashlib.sha256(data).hexdigest(), mime, len(data), 320, 200, None)


def test_the_cameras_time_is_noted_and_odd_ones_are_not():
    """EXIF time with its offset becomes ISO text; what is no time is left out and costs nothing else."""
    assert examine(jpeg(taken="2026:03:10 14:02:11", offset="-06:00")).taken == "2026-03-10T14:02:11-06:00"
    assert examine(jpeg(taken="2026:03:10 14:02:11")).taken == "2026-03-10T14:02:11"
    assert examine(jpeg(taken="yesterday, I think")).taken is None


def test_no_place_in_what_is_passed_on():
    """The original keeps its GPS and maker's note; the copy has no metadata at all."""
    data = jpeg(900, 600, gps=True)
    assert GPS_WORD in data
    with Image.open(io.BytesIO(data)) as original:
        assert original.getexif().get_ifd(0x8825)
    copy = small(data)
    assert GPS_WORD not in copy
    with Image.open(io.BytesIO(copy)) as image:
        assert not image.getexif()
        assert not {"exif", "xmp", "comment", "icc_profile"} & set(image.info)


def test_the_copy_stands_upright():
    """A photo lying on its side by EXIF orientation 6 is turned before the tag is dropped."""
    with Image.open(io.BytesIO(small(jpeg(400, 200, orientation=6)))) as image:
        assert image.size == (200, 400)
        # The red left edge of the original is the top of what the camera saw.
        top, bottom = image.getpixel((100, 5)), image.getpixel((100, 395))
    assert top[0] > 180 > 100 > bottom[0]


def test_a_see_through_picture_gets_a_white_ground():
    """A PNG with transparency becomes a JPEG on white, not on black."""
    out = io.BytesIO()
    Image.new("RGBA", (50, 50), (0, 0, 0, 0)).save(out, "PNG")
    with Image.open(io.BytesIO(small(out.getvalue()))) as image:
        assert min(image.getpixel((25, 25))) > 240


def test_heic_and_others_are_told_apart():
    """HEIC is named as such, since the phone can send JPEG instead; a film, a document or a text are no photos."""
    assert why(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(500)) == "heic"
    assert why(b"\x00\x00\x00\x18ftypisom" + bytes(500)) == "not_photo"
    assert why(b"%PDF-1.7\n%....") == "not_photo"
    assert why(b"GIF89a" + bytes(500)) == "not_photo"
    assert why(b"just a text that is called photo.jpg") == "not_photo"
    assert why(b"") == "empty"


def test_a_moving_picture_is_no_photo():
    """An animated WebP is refused."""
    out = io.BytesIO()
    frames = [Image.new("RGB", (20, 20), c) for c in ("red", "blue", "green")]
    frames[0].save(out, "WEBP", save_all=True, append_images=frames[1:])
    assert why(out.getvalue()) == "not_photo"


def test_two_pictures_of_a_phone_in_one_file_are_a_photo():
    """A JPEG with a second picture behind it (MPO), as phones write it, is taken as JPEG."""
    out = io.BytesIO()
    first, second = Image.new("RGB", (64, 48), "red"), Image.new("RGB", (64, 48), "blue")
    first.save(out, "MPO", save_all=True, append_images=[second])
    assert examine(out.getvalue()).mime == "image/jpeg"


def bomb(side):
    """A PNG of a few kilobytes that claims side x side pixels, and holds them."""

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    packer = zlib.compressobj(9)
    rows = b"".join([packer.compress(bytes(1 + side // 8)) for _ in range(side)]) + packer.flush()
    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def test_a_decompression_bomb_is_refused_by_its_header():
    """A hundred million pixels in a few kilobytes are refused before one of them is decoded."""
    data = bomb(10_000)
    assert len(data) < 50_000
    assert why(data) == "too_many_pixels"
    assert isinstance(examine(bomb(4_000)), Photo)


def test_too_many_bytes_are_refused():
    """A file of more than 20 MB is not even opened."""
    assert why(jpeg() + bytes(20_000_001)) == "too_big"


@pytest.mark.parametrize("make", [jpeg, png, webp])
def test_a_truncated_photo_is_refused_wherever_it_was_cut(make):
    """Half a photo is no record: cut anywhere, it is refused, and never with an error."""
    data = make(300, 200, noise=True)
    cuts = sorted({random.Random(7).randrange(13, len(data) - 2) for _ in range(60)})
    taken = [cut for cut in cuts if not isinstance(examine(data[:cut]), NotTaken)]
    assert taken == []


@pytest.mark.parametrize("make", [jpeg, png, webp])
def test_damaged_bytes_never_raise(make):
    """Any flipped bytes give a photo or a reason, never an error."""
    dice = random.Random(11)
    data = make(120, 90, noise=True)
    for _ in range(150):
        broken = bytearray(data)
        for _ in range(dice.randrange(1, 12)):
            broken[dice.randrange(len(broken))] = dice.randrange(256)
        assert isinstance(examine(bytes(broken)), Photo | NotTaken)


def archive():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("run.txt", "nothing good")
    return out.getvalue()


@pytest.mark.parametrize(
    "second",
    [archive(), b"<?php system($_GET['c']); ?>", b"Rar!\x1a\x07\x01\x00 and more", b"7z\xbc\xaf\x27\x1c\x00\x04"],
    ids=["zip", "php", "rar", "7z"],
)
def test_a_file_that_is_two_things_is_refused(second):
    """A photo that is an archive or a program as well is not kept."""
    assert why(jpeg() + second) == "two_things"


def test_a_page_in_the_head_of_a_photo_is_refused():
    """A comment at the beginning that a browser would take for a page makes the file two things."""
    assert why(jpeg(comment=b"<script>alert(1)</script>")) == "two_things"
    assert why(jpeg(comment=b"%PDF-1.4")) == "two_things"
    assert isinstance(examine(jpeg(comment=b"east wall, second pour")), Photo)


# --- the folder -----------------------------------------------------------------------------------------------------


def test_the_original_is_kept_byte_for_byte(tmp_path):
    """What comes out is what went in, under its hash, readable by its owner alone; the same twice is one file."""
    folder, data = Folder(tmp_path / "photos"), jpeg(gps=True)
    name = folder.put(data)
    assert folder.put(data) == name == hashlib.sha256(data).hexdigest()
    assert folder.read(name) == data
    assert list(folder.names()) == [name]
    path = folder.original(name)
    assert path == tmp_path / "photos" / name[:2] / name
    assert path.stat().st_mode & 0o077 == 0
    assert path.parent.stat().st_mode & 0o077 == 0


def test_a_name_from_outside_never_becomes_a_path(tmp_path):
    """What is no hash is refused before it touches the disk."""
    with pytest.raises(ValueError, match="no SHA-256"):
        Folder(tmp_path).read("../../etc/passwd")


def test_a_changed_original_is_seen(tmp_path):
    """A file that was changed or deleted is named with what is wrong; put again, it is whole again."""
    folder, data = Folder(tmp_path), png()
    name = folder.put(data)
    assert folder.fault(name) == ""
    folder.original(name).write_bytes(data[:-1] + b"x")
    assert folder.fault(name) == "is not what was put in"
    folder.put(data)
    assert folder.fault(name) == ""
    folder.original(name).unlink()
    assert folder.fault(name) == "is not there"


def test_orphans_are_swept_once_they_are_old(tmp_path):
    """What nothing names is deleted after an hour, with its copy and with half-written files; the rest stays."""
    folder = Folder(tmp_path)
    named, orphan, young = (folder.put(make()) for make in (jpeg, png, webp))
    draft = tmp_path / named[:2] / ".half"
    draft.write_bytes(b"half")
    assert folder.small(orphan)
    assert folder.small(named)
    old = time.time() - ORPHAN_AGE_S - 60
    for path in tmp_path.glob("*/*"):
        if path.name != young:
            os.utime(path, (old, old))
    assert folder.sweep({named}) == 1
    assert sorted(folder.names()) == sorted([named, young])
    assert not draft.exists()
    assert [p.name for p in (tmp_path / "small").iterdir()] == [named]


def test_an_orphan_that_comes_again_is_young_again(tmp_path):
    """A photo sent anew is safe from the sweeper while its message is being kept."""
    folder, data = Folder(tmp_path), jpeg()
    name = folder.put(data)
    os.utime(folder.original(name), (0, 0))
    folder.put(data)
    assert folder.sweep(set()) == 0
    assert folder.read(name) == data
