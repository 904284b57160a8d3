"""Laws of power, heat, limits and statistics: what holds for any values within the limits of the formulas."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitebot.trade import heat, limits, power, statistics
from sitebot.trade.heat import Bounds, Curve, Prior, Reading

FT = 0.3048
gauges = st.integers(4, 20)


@given(st.floats(-3, 44))
def test_size_and_area_lead_back_to_each_other(awg):
    """The size of the area of a size is that size."""
    assert power.awg_of_area(power.awg_area_m2(awg)) == pytest.approx(awg, abs=1e-9)


@given(st.floats(100, 250), st.floats(0, 100), gauges, st.integers(1, 4))
def test_voltage_and_power_balance(supply, length, awg, irons):
    """Supply = iron + cord, and the heat of the irons is what they draw there."""
    found = power.drop(supply, length, power.awg_area_m2(awg), irons=irons)
    cord = found.amps * 2 * power.wire_ohm(length, power.awg_area_m2(awg))
    assert found.volts_at_iron + cord == pytest.approx(supply)
    assert found.heat_share * irons * 960 == pytest.approx(found.volts_at_iron * found.amps)
    assert 0 <= found.lost_share < 1


@given(gauges, st.floats(0.3, 0.99), st.integers(1, 3))
def test_longest_cord_leaves_just_its_share(awg, share, irons):
    """At the longest cord the heat left is the share asked for."""
    area = power.awg_area_m2(awg)
    longest = power.longest_cord_m(120, area, share, irons=irons)
    assert power.drop(120, longest, area, irons=irons).heat_share == pytest.approx(share)


def test_no_cord_makes_up_for_a_weak_supply():
    """100 V never give a 120 V iron nine tenths of its heat."""
    assert power.longest_cord_m(100, power.awg_area_m2(8), 0.9) == 0


def test_a_warm_wire_has_more_resistance():
    """Copper gains 0.4 % a degree."""
    assert power.wire_ohm(10, 2e-6, 45) == pytest.approx(power.wire_ohm(10, 2e-6, 20) * 1.101025)


@settings(deadline=None)
@given(st.floats(10, 40), st.floats(180, 320), st.floats(400, 6000))
def test_fit_finds_the_curve_behind_exact_readings(start, end, tau):
    """Readings without error give back time constant and end."""
    curve = Curve(start, end, tau)
    found = heat.fit([Reading(t, curve.temp_c(t)) for t in (300, 900, 1800, 2700)], start)
    assert found.temp_c(3600) == pytest.approx(curve.temp_c(3600), abs=0.2)
    assert found.tau_s == pytest.approx(tau, rel=0.02)


@pytest.mark.parametrize("seed", range(8))
def test_fit_agrees_with_an_independent_solver(seed):
    """With scattered readings the misfit is no worse than that of scipy's bounded least squares."""
    chance = random.Random(seed)
    curve = Curve(20, chance.uniform(200, 300), chance.uniform(600, 3000))
    readings = [Reading(t, curve.temp_c(t) + chance.gauss(0, 5)) for t in range(300, 3600, 400)]
    bounds = Bounds()

    def misses(x):
        return [Curve(20, x[0], x[1]).temp_c(r.after_s) - r.temp_c for r in readings]

    optimize = pytest.importorskip("scipy.optimize")
    theirs = optimize.least_squares(
        misses, [240, 1500], bounds=([bounds.end_c[0], bounds.tau_s[0]], [bounds.end_c[1], bounds.tau_s[1]])
    )
    ours = heat.fit(readings, 20)
    mine = sum((ours.temp_c(r.after_s) - r.temp_c) ** 2 for r in readings)
    assert mine <= 2 * theirs.cost * (1 + 1e-6)


def test_fit_stays_within_its_bounds():
    """Readings that would lead to 400 C end at the bound."""
    steep = Curve(20, 400, 1500)
    found = heat.fit([Reading(t, steep.temp_c(t)) for t in (300, 900, 1500)], 20)
    assert found.end_c <= 330
    assert 300 <= found.tau_s <= 7200


@settings(deadline=None)
@given(st.floats(20, 70))
def test_readings_narrow_the_estimate(true_min):
    """With readings the spread is smaller than before, and the true time lies in a wide bracket around it."""
    end = 275
    tau = true_min * 60 / math.log((end - 20) / (end - 182))
    curve = Curve(20, end, tau)
    before = heat.ready([], 20, 182)
    after = heat.ready([Reading(t, curve.temp_c(t)) for t in (600, 900)], 20, 182)
    assert after.late_s - after.early_s < before.late_s - before.early_s
    assert after.early_s <= after.likely_s <= after.late_s
    assert 0.75 * after.early_s <= true_min * 60 <= 1.25 * after.late_s


def test_past_mornings_move_the_estimate():
    """Ten mornings of 35 minutes: the iron is expected then, with little spread; none: common practice."""
    learned = heat.learned([2100] * 10)
    assert 2100 < learned.median_s < 2250
    assert learned.log_spread < Prior().log_spread
    assert heat.learned([]).median_s == pytest.approx(2700)


def test_ready_without_knowledge_is_the_hour_of_common_practice():
    """Nine irons in ten are hot within the hour."""
    assert heat.ready([], 20, 182).late_s == pytest.approx(3600, rel=0.02)


@given(st.floats(120, 260), st.floats(-10, 35), st.floats(40, 60))
def test_cooling_passes_the_handling_heat_when_told(start, air, handle):
    """The curve stands at the handling heat at the time told."""
    told = heat.safe_to_pack_s(start, air, handle)
    tau = heat.USUAL_COOL_S / math.log(168 / 30)
    assert Curve(start, air, tau).temp_c(told) == pytest.approx(handle)


def test_cooling_follows_its_own_readings():
    """An iron that cools slowly is kept out longer."""
    slow = Curve(188, 20, 2400)
    readings = [Reading(t, slow.temp_c(t)) for t in (300, 900)]
    assert heat.safe_to_pack_s(188, 20, 50, readings) == pytest.approx(slow.time_s(50), rel=1e-3)
    assert heat.safe_to_pack_s(188, 55, 50) is None


@given(st.floats(0.001, 1), st.floats(0.01, 1), st.floats(0.001, 3))
def test_governing_limit_is_kept_by_both(absolute, share, thickness):
    """What passes the governing limit passes both."""
    least = limits.governing(absolute, share, thickness)
    assert least <= absolute
    assert least <= share * thickness
    assert least in (absolute, share * thickness)


def test_governing_needs_the_thickness():
    """Without thickness the share is open."""
    assert limits.governing(1 / 16, 0.15, None) is None


@given(st.floats(0, 1000), st.sampled_from([100, 10, 1, 0.1, 0.01, 1 / 16, 1 / 64]))
def test_rounding_is_near_and_stays(value, place):
    """A rounded value lies within half a place and rounds to itself."""
    once = limits.rounded(value, place)
    assert abs(once - value) <= place / 2 + 1e-9
    assert limits.rounded(once, place) == once


@pytest.mark.parametrize(("value", "want"), [(0.5, 0), (1.5, 2), (2.5, 2), (3.5, 4), (2.4999, 2), (2.5001, 3)])
def test_exact_halves_go_to_the_even_step(value, want):
    """An exact half goes to the even step, so that rounding does not lean one way."""
    assert limits.rounded(value, 1) == want


@given(st.floats(0, 0.5), st.floats(0.1, 1), st.floats(0, 0.5), st.floats(0.1, 1))
def test_section_loss_lies_between_none_and_all(step, across, other, other_across):
    """No step loses nothing, a step as large as the section all; two steps lose at least what one does."""
    loss = limits.section_loss_share(step, across, other, other_across)
    assert 0 <= loss <= 1
    assert loss >= limits.section_loss_share(step, across) - 1e-12
    assert limits.section_loss_share(0, across) == 0
    assert limits.section_loss_share(across, across) == 1


@given(st.floats(1, 1e4), st.floats(1, 1e4), st.floats(0.1, 10), st.floats(0.1, 10))
def test_strength_share_is_of_stress_not_of_load(splice, parent, area, other_area):
    """Half the area with half the load is the same strength."""
    whole = limits.strength_share(splice, parent, area, other_area)
    assert limits.strength_share(splice / 2, parent, area / 2, other_area) == pytest.approx(whole)


@given(st.integers(1, 500), st.data())
def test_interval_holds_its_share_and_mirrors(of, data):
    """The interval holds the share seen; good and bad counts mirror each other; the correction only widens it."""
    hits = data.draw(st.integers(0, of))
    low, high = statistics.wilson(hits, of)
    assert low - 1e-12 <= hits / of <= high + 1e-12
    other_low, other_high = statistics.wilson(of - hits, of)
    assert (low, high) == pytest.approx((1 - other_high, 1 - other_low))
    wide_low, wide_high = statistics.wilson_corrected(hits, of)
    assert wide_low <= low + 1e-12
    assert wide_high >= high - 1e-12


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(20, 80)), min_size=1, max_size=30))
def test_chart_limits_hold_the_centre(samples):
    """Limits lie around the centre within 0 and 1; a larger sample has closer limits."""
    chart = statistics.p_chart([b for b, _ in samples], [n for _, n in samples])
    for low, high in zip(chart.lower, chart.upper, strict=True):
        assert 0 <= low <= chart.centre <= high <= 1
    order = sorted(range(len(samples)), key=lambda i: samples[i][1])
    assert chart.upper[order[0]] >= chart.upper[order[-1]]


@pytest.mark.parametrize(
    "call",
    [
        lambda: power.awg_diameter_m(50),
        lambda: power.awg_of_area(0),
        lambda: power.wire_ohm(-1, 1e-6),
        lambda: power.wire_ohm(1, 1e-6, 300),
        lambda: power.drop(0, 1, 1e-6),
        lambda: power.drop(120, 1, 1e-6, irons=0),
        lambda: power.heat_share(-1, 120),
        lambda: power.longest_cord_m(120, 1e-6, 0),
        lambda: power.smallest_area_m2(230, 100, 25, 1),
        lambda: power.irons_carried(20, 0),
        lambda: heat.curve_through(20, 200, Reading(10, 250)),
        lambda: heat.curve_through(20, 20, Reading(10, 20)),
        lambda: heat.end_of_three(70, 60, 40),
        lambda: heat.fit([], 20),
        lambda: heat.fit([Reading(-5, 30)], 20),
        lambda: heat.learned([0]),
        lambda: heat.ready([], 20, 250),
        lambda: heat.safe_to_pack_s(40, 20, 50),
        lambda: limits.governing(0, 0.15, 1),
        lambda: limits.even_thickness(1, 0),
        lambda: limits.standing(-1, 1),
        lambda: limits.rounded(1, 0),
        lambda: limits.section_loss_share(-1, 1),
        lambda: limits.strength_share(1, 0),
        lambda: limits.run_out_limit(0),
        lambda: limits.material_samples(0),
        lambda: statistics.wilson(5, 4),
        lambda: statistics.wilson_corrected(1, 0),
        lambda: statistics.p_chart([], []),
        lambda: statistics.p_chart([5], [4]),
    ],
)
def test_beyond_its_limits_a_formula_refuses(call):
    """Limits of validity are checked, not only written down."""
    with pytest.raises(ValueError, match=r"\w"):
        call()
