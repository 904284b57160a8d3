"""Laws of cuts: pieces sawn as told and put together close, for any two legs in space and any flat joint."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from sitebot.trade import cuts, marks
from sitebot.trade.space import compound_turn, cross, dot, heading, joint, mirrored, saw_cut, sloped_corner, unit

#: A section in widths: edges, ribs and bulb, (across, up).
SECTION = [(-0.5, 0.0), (0.5, 0.0), (-0.5, 0.04), (0.5, 0.04), (0.3, 0.07), (-0.3, -0.03), (0.0, 0.12), (0.0, -0.08)]
angles = st.floats(-180, 180, allow_nan=False)
slopes = st.floats(-85, 85, allow_nan=False)


def blade_as_told(cut):
    """Two directions in the blade plane, from nothing but what the saw's user is told.

    He stands at -y. Handle left means its near end goes left, so the trace runs away to the right; a blade that leans
    left has its top to the left of the trace.
    """
    m = math.radians(cut.miter_deg) * {"left": 1, "right": -1, "none": 0}[cut.swing]
    b = math.radians(cut.bevel_deg) * {"left": 1, "right": -1, "none": 0}[cut.tilt]
    trace = (math.sin(m), math.cos(m), 0.0)
    to_left = (-math.cos(m), math.sin(m), 0.0)
    lean = tuple(math.cos(b) * z + math.sin(b) * left for z, left in zip((0.0, 0.0, 1.0), to_left, strict=True))
    return trace, lean


def sawn_end(cut):
    """Where the blade meets each line of the section on a piece lying along x, web down."""
    normal = cross(*blade_as_told(cut))
    return [(-(normal[1] * y + normal[2] * z) / normal[0], y, z) for y, z in SECTION]


def placed(points, out, web, keep):
    """The sawn end put where its leg runs: its length along the leg, its web's normal along ``web``."""
    x = out if keep == "right" else tuple(-c for c in out)
    y = cross(web, x)
    return [tuple(p[0] * x[i] + p[1] * y[i] + p[2] * web[i] for i in range(3)) for p in points]


def web_of(out, roll_deg):
    """Any web square to a leg."""
    side = unit(cross(out, (0.0, 0.0, 1.0) if abs(out[2]) < 0.9 else (1.0, 0.0, 0.0)))
    up = cross(side, out)
    r = math.radians(roll_deg)
    return unit(tuple(math.cos(r) * u + math.sin(r) * s for u, s in zip(up, side, strict=True)))


@given(angles, slopes, angles, slopes, angles)
def test_both_pieces_sawn_as_told_meet(azimuth_1, elevation_1, azimuth_2, elevation_2, roll):
    """Every edge, rib and bulb of one end falls on that of the other within 1e-9 of the width."""
    out_1, out_2 = heading(azimuth_1, elevation_1), heading(azimuth_2, elevation_2)
    # Legs nearly folded on one another, or a blade nearly along the web, have no cut that a saw can make.
    assume(dot(out_1, out_2) < math.cos(math.radians(10)))
    found = joint(out_1, web_of(out_1, roll), out_2)
    assume(found.first.miter_deg < 85 and found.first.bevel_deg < 85)
    ends_1 = placed(sawn_end(found.first), out_1, web_of(out_1, roll), "left")
    ends_2 = placed(sawn_end(found.second), out_2, found.second_web, "right")
    for one, two in zip(ends_1, ends_2, strict=True):
        assert math.dist(one, two) < 1e-9 * max(1.0, *map(abs, one))


@given(angles, slopes, angles, slopes, angles, angles)
def test_twist_is_how_far_ribs_miss(azimuth_1, elevation_1, azimuth_2, elevation_2, roll, wanted_roll):
    """Leg 2 laid in its wanted web misses by just the twist: ribs meet if and only if no twist is reported."""
    out_1, out_2 = heading(azimuth_1, elevation_1), heading(azimuth_2, elevation_2)
    assume(dot(out_1, out_2) < math.cos(math.radians(10)))
    wanted = web_of(out_2, wanted_roll)
    found = joint(out_1, web_of(out_1, roll), out_2, wanted)
    assume(found.first.miter_deg < 85 and found.first.bevel_deg < 85)
    ends_1 = placed(sawn_end(found.first), out_1, web_of(out_1, roll), "left")
    ends_2 = placed(sawn_end(found.second), out_2, wanted, "right")
    # A rib half a width off the axis swings by the chord of the twist.
    for (across, up), one, two in zip(SECTION, ends_1, ends_2, strict=True):
        radius = math.hypot(across, up)
        chord = 2 * radius * abs(math.sin(math.radians(found.twist_deg) / 2))
        gap = math.dist(off_axis(one, out_2), off_axis(two, out_2))
        assert gap == pytest.approx(chord, abs=1e-7)


def off_axis(point, axis):
    """The part of a point across a leg."""
    along = dot(point, axis)
    return tuple(p - along * a for p, a in zip(point, axis, strict=True))


@given(st.floats(1, 170), st.floats(1, 85))
def test_one_setting_cuts_both_ends(flat, edge):
    """The second piece with its other face up needs the same swing and tilt to the same hands."""
    found = compound_turn(flat, edge)
    turned = tuple(-c for c in found.second_web)
    second = saw_cut(heading(flat, edge), turned, found.blade, "right")
    assert (second.swing, second.tilt) == (found.first.swing, found.first.tilt)
    assert (second.miter_deg, second.bevel_deg) == pytest.approx((found.first.miter_deg, found.first.bevel_deg))


@given(st.floats(0.5, 170))
def test_plane_turns_are_limits_of_the_one_in_space(turn):
    """A compound turn without climb is the flat turn, without flat turn the edge turn, and neither is twisted."""
    flat = compound_turn(turn, 0)
    assert (flat.first.miter_deg, flat.first.bevel_deg, flat.twist_deg) == pytest.approx((turn / 2, 0, 0), abs=1e-6)
    edge = compound_turn(0, turn / 2)
    assert (edge.first.miter_deg, edge.first.bevel_deg, edge.twist_deg) == pytest.approx((0, turn / 4, 0), abs=1e-6)


def test_a_left_turn_swings_to_one_hand_and_its_mirror_to_the_other():
    """A left turn: piece 1 left of the blade with its far (left) edge shorter, so the handle goes right."""
    found = compound_turn(60, 0)
    assert (found.first.swing, found.second.swing) == ("right", "left")
    assert (found.first.tilt, found.second.tilt) == ("none", "none")


def test_a_climb_leans_the_blade_over_the_piece():
    """Leg 2 climbs: piece 1, web down, loses its upper face, so the blade leans left over it; piece 2 right."""
    found = compound_turn(0, 40)
    assert (found.first.tilt, found.second.tilt) == ("left", "right")


@given(st.lists(st.floats(5, 180), min_size=2, max_size=7))
def test_legs_of_a_flat_joint_fill_the_round(gaps):
    """Every two neighbours are cut alike on the side they share, on the line that halves their gap."""
    scaled = [gap * 360 / sum(gaps) for gap in gaps]
    legs = cuts.flat_joint(scaled)
    for leg, after in zip(legs, [*legs[1:], legs[0]], strict=True):
        assert leg.cut_after_deg == pytest.approx(after.cut_before_deg)
        assert 90 - leg.cut_after_deg + 90 - after.cut_before_deg == pytest.approx(leg.gap_after_deg)
    assert sum(90 - leg.cut_before_deg + 90 - leg.cut_after_deg for leg in legs) == pytest.approx(360)


@given(st.floats(0, 179.9))
def test_two_legs_are_a_turn(turn):
    """A flat joint of two legs is one straight cut of half the turn."""
    legs = cuts.flat_joint([180 - turn, 180 + turn])
    assert all(leg.is_single_cut for leg in legs)
    assert cuts.flat_turn(turn).miter_deg == pytest.approx(abs(legs[0].cut_after_deg))


@given(st.floats(0.01, 359.99))
def test_inside_and_turn_are_one_angle(inside):
    """The inside angle of a turn leads back to the turn, outside angles too."""
    turn = cuts.turn_of_inside(inside)
    assert cuts.inside_of_turn(turn) == pytest.approx(min(inside, 360 - inside))


@given(st.lists(st.integers(0, 359), min_size=2, max_size=6, unique=True))
def test_bearings_give_gaps_once_round(bearings):
    """Gaps from bearings are 360 in all."""
    assert sum(cuts.gaps_of_bearings(bearings)) == 360


@given(st.floats(0.1, 100), st.floats(0, 84))
def test_mark_and_face_are_sides_of_one_triangle(width, miter):
    """Width, mark and cut obey Pythagoras, and rise per foot leads back to the angle."""
    mark, face = marks.mark_offset(width, miter), marks.face_length(width, miter)
    assert face**2 == pytest.approx(width**2 + mark**2)
    assert marks.miter_of_rise(marks.rise_per_foot(miter), 12) == pytest.approx(miter)


@given(st.floats(0, 84), st.floats(5, 89))
def test_block_and_swing_make_the_cut(miter, stop):
    """Wedge and swing add up to the cut, and the saw is within its stop."""
    block = marks.fence_block(miter, stop)
    if block is None:
        assert miter <= stop
    else:
        assert block.block_deg + block.swing_deg == pytest.approx(miter)
        assert block.swing_deg <= stop + 1e-6


@given(st.floats(0, 90), st.floats(1, 359))
def test_sloped_corner_never_twists(spring, corner):
    """Two webs at one slope mirror each other: the joint of a sloped corner reports no twist."""
    assume(abs(corner - 180) < 175)
    found = sloped_corner(spring, corner)
    assert mirrored(found.second_web, found.blade)[2] == pytest.approx(math.sin(math.radians(spring)))
    assert found.twist_deg == 0


@pytest.mark.parametrize(
    "call",
    [
        lambda: cuts.flat_turn(180),
        lambda: cuts.flat_turn(-1),
        lambda: cuts.turn_of_inside(0),
        lambda: cuts.flat_joint([90, 90, 90]),
        lambda: cuts.flat_joint([360]),
        lambda: cuts.gaps_of_bearings([0, 360]),
        lambda: cuts.complete_gaps("tee", [60, 100]),
        lambda: marks.mark_offset(6, 88),
        lambda: marks.mark_offset(0, 45),
        lambda: marks.fence_block(90),
        lambda: joint((1, 0, 0), (0, 0, 1), (1, 0, 0)),
        lambda: joint((1, 0, 0), (1, 0, 0), (0, 1, 0)),
        lambda: compound_turn(200, 0),
        lambda: sloped_corner(95, 90),
    ],
)
def test_beyond_its_limits_a_formula_refuses(call):
    """Limits of validity are checked, not only written down."""
    with pytest.raises(ValueError, match=r"\w"):
        call()
