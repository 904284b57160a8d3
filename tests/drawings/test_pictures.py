"""Pictures of cuts: legible on a phone, drawn at the angle they say, the same in SVG and PNG."""

import io
import itertools
import math
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from sitebot.drawings import draw
from sitebot.drawings.__main__ import USUAL, main
from sitebot.drawings.pictures import sheet_of
from sitebot.drawings.png import font, has_glyphs
from sitebot.drawings.scene import BLADE, Label, Line
from sitebot.wording.render import terms

MORE = {
    "small flat turn": {"drawing": "turn", "plane": "flat", "turn_deg": 5.0},
    "sharp flat turn": {"drawing": "turn", "plane": "flat", "turn_deg": 135.0},
    "square edge turn": {"drawing": "turn", "plane": "edge", "turn_deg": 90.0},
    "compound down": {"drawing": "compound", "flat_turn_deg": 30.0, "edge_turn_deg": -20.0},
    "skew cross": {"drawing": "cross", "legs_deg": [75.0, 105.0, 75.0, 105.0]},
    "uneven wye": {"drawing": "wye", "legs_deg": [90.0, 135.0, 135.0]},
    "sharp tee": {"drawing": "tee", "legs_deg": [30.0, 150.0, 180.0]},
}
PICTURES = USUAL | MORE
every = pytest.mark.parametrize("name", PICTURES)
both = pytest.mark.parametrize("language", ["en", "es"])


def labels(sheet):
    return [s for s in sheet.shapes if isinstance(s, Label)]


def box(label):
    """The rectangle its letters take."""
    left, top, right, bottom = font(label.size * 4).getbbox(
        label.text, anchor={"start": "lm", "middle": "mm", "end": "rm"}[label.anchor]
    )
    x, y = label.at[0] + label.shift[0], label.at[1] + label.shift[1]
    return x + left / 4, y + top / 4, x + right / 4, y + bottom / 4


def overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@every
@both
def test_every_label_can_be_read_on_a_phone(name, language):
    """Letters at least 20 high on 600, inside the sheet, clear of each other, and all in the font."""
    sheet = sheet_of(PICTURES[name], terms(language))
    for label in labels(sheet):
        assert label.size >= 20
        assert has_glyphs(label.text), label.text
        left, top, right, bottom = box(label)
        assert left >= 0
        assert right <= 600
        assert top >= 0
        assert bottom <= sheet.height
    for one, two in itertools.combinations(labels(sheet), 2):
        assert not overlap(box(one), box(two)), (one.text, two.text)


@every
def test_png_is_a_picture_for_a_phone(name):
    """A PNG of 1200 pixels width and of some ten kilobytes, so that it goes through on a weak signal."""
    data = draw(PICTURES[name], "en").png
    image = Image.open(io.BytesIO(data))
    assert (image.format, image.width) == ("PNG", 1200)
    assert len(data) < 150_000
    assert len(image.convert("RGB").getcolors(1 << 20)) > 8


@every
@both
def test_svg_says_the_same(name, language):
    """The SVG parses, carries a title and every label of the sheet."""
    drawing = draw(PICTURES[name], language)
    root = ET.fromstring(drawing.svg)
    texts = [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == [label.text for label in labels(sheet_of(PICTURES[name], terms(language)))]
    assert root.findtext("{http://www.w3.org/2000/svg}title") == drawing.title


def blade_angles(sheet):
    """Angles from upright of all straight blade lines drawn at the saw."""
    found = []
    for s in sheet.shapes:
        if isinstance(s, Line) and s.colour == BLADE and len(s.points) == 2:
            (x1, y1), (x2, y2) = s.points
            found.append(round(math.degrees(math.atan2(abs(x2 - x1), abs(y2 - y1))), 4))
    return found


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 150))
def test_a_flat_turn_is_drawn_at_its_miter(turn):
    """Both blade lines on the saw lean half the turn from square."""
    angles = blade_angles(sheet_of({"drawing": "turn", "plane": "flat", "turn_deg": turn}, terms("en")))
    assert angles.count(round(turn / 2, 4)) >= 2 or min(abs(a - turn / 2) for a in angles) < 1e-3


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 150))
def test_an_edge_turn_is_drawn_at_its_tilt(turn):
    """Both blade lines lean half the turn from upright."""
    angles = blade_angles(sheet_of({"drawing": "turn", "plane": "edge", "turn_deg": turn}, terms("en")))
    assert min(abs(a - turn / 2) for a in angles) < 1e-3


def test_a_drop_leans_the_other_way():
    """Climbing, the blade leans left over the left piece; dropping, right: seen in the picture and in its words."""
    up = sheet_of({"drawing": "compound", "flat_turn_deg": 30.0, "edge_turn_deg": 20.0}, terms("en"))
    down = sheet_of({"drawing": "compound", "flat_turn_deg": 30.0, "edge_turn_deg": -20.0}, terms("en"))
    assert "Left piece: handle right, blade leans left." in [label.text for label in labels(up)]
    assert "Left piece: handle right, blade leans right." in [label.text for label in labels(down)]
    assert leans(up) == -leans(down) == -1


def leans(sheet):
    """To which side the leftmost blade line of the last view leans: -1 left, 1 right."""
    blades = [s for s in sheet.shapes if isinstance(s, Line) and s.colour == BLADE and len(s.points) == 2]
    lowest = max(max(p[1] for p in s.points) for s in blades)
    near = [s for s in blades if max(p[1] for p in s.points) > lowest - 60]
    line = min(near, key=lambda s: min(p[0] for p in s.points))
    (x_low, _), (x_high, _) = sorted(line.points, key=lambda p: -p[1])
    return 1 if x_high > x_low else -1


def test_the_usual_cuts_are_written(tmp_path):
    """The command writes eight pictures, PNG and SVG each."""
    main(tmp_path)
    assert len(list(tmp_path.glob("cut-*.png"))) == 8
    assert len(list(tmp_path.glob("cut-*.svg"))) == 8
