"""Corner tables: the joint from directions in space against printed and computed crown, corner and box tables."""

import math
from pathlib import Path

import pytest

from sitebot.rulebook.yaml_text import read_yaml
from sitebot.trade.space import compound_turn, sloped_corner

HERE = Path(__file__).parent
BARTOK = "computed from J. Bartok's formulas"
TABLE_FILES = {"printed": "crown_printed", "square": "crown_square", "corners": "corners", "boxes": "pyramids"}


def rows(name):
    return read_yaml(HERE / f"{TABLE_FILES[name]}.yaml")


def last_digit(printed):
    """Half a step of the last digit printed, and a hair for its own rounding."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2]) + 1e-6


def cut(row):
    if "pitch" in row:
        return sloped_corner(90 - float(row["pitch"]), 180 - 360 / int(row["sides"])).first
    return sloped_corner(float(row["spring"]), float(row.get("corner", "90"))).first


def named(row):
    at = f"p={row['pitch']} n={row['sides']}" if "pitch" in row else f"S={row['spring']} W={row.get('corner', 90)}"
    return f"{row['id']} {at} [{row.get('source', BARTOK)}]"


@pytest.mark.parametrize("row", [*rows("printed"), *rows("corners"), *rows("boxes")], ids=named)
def test_miter_and_bevel(row):
    """Miter and bevel agree with the table to the digits it prints."""
    assert cut(row).miter_deg == pytest.approx(float(row["miter"]), rel=0, abs=last_digit(row["miter"]))
    assert cut(row).bevel_deg == pytest.approx(float(row["bevel"]), rel=0, abs=last_digit(row["bevel"]))


@pytest.mark.parametrize("row", rows("square"), ids=named)
def test_square_corner(row):
    """Rake (complement of the miter) and bevel agree within one step of the last digit; slants are rounded in print."""
    within = max(3e-4, last_digit(row["bevel"])) if "." in row["bevel"] else 3e-4
    assert 90 - cut(row).miter_deg == pytest.approx(float(row["rake"]), rel=0, abs=3e-4)
    assert cut(row).bevel_deg == pytest.approx(float(row["bevel"]), rel=0, abs=within)


WRONG = {
    "slant 20 [C. Corwin, misprint]": (20, 90, 90 - 70.5004, None),
    "slant 22.5 [C. Corwin, misprint]": (22.5, 90, 90 - 70.5004, None),
    "slant 67.3806 [C. Corwin, mixed row]": (67.3806, 90, 90 - 47.5054, None),
    "S=38 W=85 [web table of 85 to 89 deg corners, misprint]": (38, 85, 29.82, 32.13),
}


@pytest.mark.parametrize(("spring", "corner", "miter", "bevel"), WRONG.values(), ids=WRONG.keys())
def test_misprint_is_told(spring, corner, miter, bevel):
    """A row known to be wrong in print does not agree."""
    found = sloped_corner(spring, corner).first
    assert abs(found.miter_deg - miter) > 0.1
    assert bevel is None or abs(found.bevel_deg - bevel) > 0.1


RIGHT = {
    "slant 20 [C. Corwin, corrected by formula]": (20, 90, 90 - 71.1183),
    "slant 22.5 [C. Corwin, corrected by formula]": (22.5, 90, 90 - 69.0590),
    "slant 67.3806 [C. Corwin, corrected by formula]": (67.3806, 90, 90 - 47.2905),
    "S=38 W=85 [J. Bartok, closed form]": (38, 85, 33.8962),
}


@pytest.mark.parametrize(("spring", "corner", "miter"), RIGHT.values(), ids=RIGHT.keys())
def test_misprint_corrected(spring, corner, miter):
    """The corrected value does."""
    assert sloped_corner(spring, corner).first.miter_deg == pytest.approx(miter, rel=0, abs=1e-4)


SOLIDS = {
    "tetrahedron": (3, math.acos(1 / 3), 30, math.acos(1 / 3)),
    "octahedron": (4, math.acos(1 / math.sqrt(3)), 30, math.acos(-1 / 3)),
    "icosahedron cap": (5, math.acos(math.sqrt((5 + 2 * math.sqrt(5)) / 15)), 30, math.acos(-math.sqrt(5) / 3)),
    "cube corner": (3, math.acos(1 / math.sqrt(3)), 45, math.pi / 2),
}


@pytest.mark.parametrize("name", SOLIDS, ids=lambda name: f"{name} [exact, regular polyhedra]")
def test_regular_solid(name):
    """Triangles of a solid are cut at 30 deg, squares through a corner at 45, and the faces meet at the exact angle."""
    sides, pitch, miter, dihedral = SOLIDS[name]
    found = sloped_corner(90 - math.degrees(pitch), 180 - 360 / sides).first
    assert found.miter_deg == pytest.approx(miter, abs=1e-6)
    assert 180 - 2 * found.bevel_deg == pytest.approx(math.degrees(dihedral), abs=1e-6)


@pytest.mark.parametrize("corner", [60, 90, 120, 135, 160], ids=lambda w: f"W={w} [J. Bartok, limits of the formulas]")
def test_flat_standing_and_straight(corner):
    """Flat in its plane only a miter, standing only a bevel, straight neither (GS-01 to GS-03)."""
    flat, standing = sloped_corner(90, corner).first, sloped_corner(0, corner).first
    assert (flat.miter_deg, flat.bevel_deg) == pytest.approx((90 - corner / 2, 0), abs=1e-9)
    assert (standing.miter_deg, standing.bevel_deg) == pytest.approx((0, 90 - corner / 2), abs=1e-9)
    straight = sloped_corner(corner / 2, 180).first
    assert (straight.miter_deg, straight.bevel_deg) == pytest.approx((0, 0), abs=1e-9)


def radians(*degrees):
    return [math.radians(d) for d in degrees]


FORMULAS = {
    "GF-01 tan m = sin S / tan(W/2) [J. Bartok]": lambda s, w, m, b: math.tan(m) - math.sin(s) / math.tan(w / 2),
    "GF-02 sin b = cos S cos(W/2) [J. Bartok]": lambda s, w, m, b: math.sin(b) - math.cos(s) * math.cos(w / 2),
    "GF-03 tan b = sin m / tan S [J. Bartok]": lambda s, w, m, b: math.tan(b) - math.sin(m) / math.tan(s),
    "GF-04 cos b = sin(W/2) / cos m [J. Bartok]": lambda s, w, m, b: math.cos(b) - math.sin(w / 2) / math.cos(m),
    "GF-05 sin m = tan b tan S [J. Bartok]": lambda s, w, m, b: math.sin(m) - math.tan(b) * math.tan(s),
    "GF-06 cos2 b = (cos S sin(W/2))2 + sin2 S [J. Bartok]": lambda s, w, m, b: (
        math.cos(b) ** 2 - (math.cos(s) * math.sin(w / 2)) ** 2 - math.sin(s) ** 2
    ),
    "GF-07 MA = complement of m, slope 90 - S [Popular Woodworking no. 119]": lambda s, w, m, b: (
        math.tan(math.pi / 2 - m) - 1 / (math.cos(math.pi / 2 - s) * math.tan(math.pi / 2 - w / 2))
    ),
    "GF-09 tan m = tan(flat miter) x projection / width [how-to, ehow 7760629]": lambda s, w, m, b: (
        math.tan(m) - math.tan(math.pi / 2 - w / 2) * math.sin(s)
    ),
}


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=FORMULAS.keys())
@pytest.mark.parametrize(("spring", "corner"), [(30, 60), (38, 90), (45, 90), (52, 120), (60, 150)])
def test_formula(formula, spring, corner):
    """The joint from directions in space keeps every published formula."""
    found = sloped_corner(spring, corner).first
    assert formula(*radians(spring, corner, found.miter_deg, found.bevel_deg)) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("flat", "edge"), [(90, 45), (30, 30), (30, 20), (60, 10), (120, 40), (45, -20)])
def test_compound_turn_is_the_same_formula(flat, edge):
    """A turn F with a climb E has the closed forms that follow from the halving plane, and the roll tan F/2 tan E/2."""
    joint = compound_turn(flat, edge)
    f, e = radians(flat, edge)
    total = math.acos(math.cos(e) * math.cos(f))
    assert math.tan(math.radians(joint.first.miter_deg)) == pytest.approx(
        math.cos(e) * math.sin(f) / (1 + math.cos(e) * math.cos(f))
    )
    assert math.sin(math.radians(joint.first.bevel_deg)) == pytest.approx(abs(math.sin(e)) / (2 * math.cos(total / 2)))
    assert math.tan(math.radians(joint.twist_deg) / 2) == pytest.approx(-math.tan(f / 2) * math.tan(e / 2))
