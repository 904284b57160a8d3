"""Single published values against our formulas, each with the place it was read; the values are data in values.yaml."""

import math
from pathlib import Path

import pytest

from sitebot.rulebook.yaml_text import read_yaml
from sitebot.trade import limits, power, space, statistics
from sitebot.trade.heat import Curve, Reading, curve_through, end_of_three

ROWS = read_yaml(Path(__file__).with_name("values.yaml"))
FT, IN, CMIL = 0.3048, 0.0254, math.pi / 4 * (0.001 * 0.0254) ** 2
ORANGE = [
    *(12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22),
    *(8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6),
]
LATER = [9, 6, 12, 5, 6, 4, 6, 3, 7, 6, 2, 4, 3, 6, 5, 4, 8, 5, 6, 7, 5, 6, 3, 5]
COLA = [8, 7, 9, 8, 10, 6, 5, 7, 9, 12, 9, 6, 8, 7, 9, 8, 11, 10, 9, 7]


def like_copper(ohm_cmil_ft, length_ft, cmil, awg_area=None):
    """Ohm of a wire of another book's copper: ours in the ratio of the two."""
    ours = power.wire_ohm(length_ft * FT, awg_area or cmil * CMIL)
    return ours * (ohm_cmil_ft * CMIL / FT) / power.COPPER_OHM_M


def rate(start, end, temp, after):
    return 1 / curve_through(start, end, Reading(after, temp)).tau_s


def time_to(start, end, temp, after, target):
    return curve_through(start, end, Reading(after, temp)).time_s(target)


def temp_at(start, end, temp, after, when):
    return curve_through(start, end, Reading(after, temp)).temp_c(when)


def percent_lost(share):
    return 100 * (1 - power.heat_share(120 * (1 - share), 120))


def standing(value, most):
    return ["under", "at", "over"].index(limits.standing(value, most, 0.1))


def needed_m2():
    """Kuphaldt's cable: 230 V, 10 V of it lost on both wires, 25 A, 2300 ft, his copper."""
    ours = power.smallest_area_m2(230, 2300 * FT, 25, 10 / 230)
    return ours * (10.09 * CMIL / FT) / power.COPPER_OHM_M


def first_enough():
    return next(n for n in range(10, -4, -1) if power.awg_area_m2(n) >= needed_m2())


chart, cola = statistics.p_chart(ORANGE, [50] * 30), statistics.p_chart(COLA, [50] * 20)
lots = statistics.p_chart([7] * 43 + [8] * 7, [200] * 50)

OURS = {
    "E-16": lambda: power.wire_ohm(2300 * FT, power.smallest_area_m2(230, 2300 * FT, 25, 10 / 230)),
    "E-17": lambda: needed_m2() / CMIL,
    "E-18": first_enough,
    "E-19a": lambda: like_copper(10.09, 2300, 4107),
    "E-19b": lambda: 2 * like_copper(10.09, 2300, 4107),
    "E-20": lambda: 230 / (2 * like_copper(10.09, 2300, 4107)),
    "E-21a": lambda: 20 * 2 * like_copper(12.9, 100, None, power.awg_area_m2(12)),
    "E-21b": lambda: 20 * 2 * like_copper(12.9, 100, None, power.awg_area_m2(12)) / 1.2,
    "E-23": lambda: power.awg_diameter_m(13) / power.awg_diameter_m(14),
    "E-24a": lambda: power.awg_diameter_m(14) / IN,
    "E-24b": lambda: power.awg_diameter_m(14) * 1000,
    "E-10": lambda: power.wire_ohm(1, 1e-6, 21) / power.wire_ohm(1, 1e-6, 20) - 1,
    "E-13": lambda: power.wire_ohm(1, 1) * 1e8,
    "EO-14a": lambda: power.drop(120, 0, 1e-6, power.Iron(120, 1500 / 120)).amps,
    "EO-14b": lambda: power.drop(120, 0, 1e-6, power.Iron(120, 1000 / 120)).amps,
    "EO-15a": lambda: percent_lost(0.03),
    "EO-15b": lambda: percent_lost(0.05),
    "EO-15c": lambda: percent_lost(0.10),
    "P-01a": lambda: rate(165, 35, 150, 10),
    "P-01b": lambda: time_to(165, 35, 150, 10, 70),
    "P-02": lambda: time_to(40, 70, 45, 1, 60),
    "P-03": lambda: rate(200, 70, 180, 2),
    "P-04a": lambda: time_to(200, 70, 180, 2, 175),
    "P-04b": lambda: time_to(200, 70, 180, 2, 155),
    "P-05a": lambda: time_to(200, 75, 185, 2, 175),
    "P-05b": lambda: time_to(200, 75, 185, 2, 155),
    "P-06": lambda: Curve(70, 20, 1 / 0.125).temp_c(8),
    "P-07a": lambda: time_to(200, 75, 190, 1, 150),
    "P-07b": lambda: time_to(200, 75, 190, 1, 150) - 1,
    "P-08": lambda: time_to(450, 70, 330, 10, 75),
    "P-09": lambda: rate(95, 20, 61, 30),
    "P-10a": lambda: rate(375, 72, 215, 15),
    "P-10b": lambda: time_to(375, 72, 215, 15, 120),
    "P-11": lambda: rate(300, 70, 200, 3),
    "P-12a": lambda: rate(185, 75, 149, 30),
    "P-12b": lambda: temp_at(185, 75, 149, 30, 45),
    "P-12c": lambda: time_to(185, 75, 149, 30, 100),
    "P-13a": lambda: temp_at(185, 75, 150, 30, 45),
    "P-13b": lambda: time_to(185, 75, 150, 30, 100),
    "P-14a": lambda: rate(90, 25, 60, 1),
    "P-14b": lambda: time_to(90, 25, 60, 1, 40),
    "P-15": lambda: time_to(210, 70, 140, 30, 100),
    "P-16": lambda: end_of_three(70, 60, 53),
    "Q-01a": lambda: statistics.wilson(81, 263)[0],
    "Q-01b": lambda: statistics.wilson(81, 263)[1],
    "Q-09a": lambda: statistics.wilson(13, 16)[0],
    "Q-09b": lambda: statistics.wilson(13, 16)[1],
    "Q-10a": lambda: statistics.wilson_corrected(13, 16)[0],
    "Q-10b": lambda: statistics.wilson_corrected(13, 16)[1],
    "Q-12a": lambda: statistics.wilson(430, 474)[0],
    "Q-12b": lambda: statistics.wilson(430, 474)[1],
    "Q-13a": lambda: statistics.wilson(392, 436)[0],
    "Q-13b": lambda: statistics.wilson(392, 436)[1],
    "Q-14a": lambda: statistics.wilson(10, 14)[0],
    "Q-14b": lambda: statistics.wilson(10, 14)[1],
    "Q-16a": lambda: statistics.wilson(0, 10)[0],
    "Q-16b": lambda: statistics.wilson(0, 10)[1],
    "Q-16c": lambda: statistics.wilson(10, 10)[0],
    "Q-16d": lambda: statistics.wilson(10, 10)[1],
    "QP-02": lambda: chart.centre,
    "QP-04a": lambda: chart.outside[0] + 1,
    "QP-04b": lambda: chart.outside[1] + 1,
    "QP-06": lambda: statistics.p_chart(LATER, [50] * 24).centre,
    "QP-08a": lambda: cola.centre,
    "QP-08b": lambda: cola.lower[0],
    "QP-08c": lambda: cola.upper[0],
    "QP-09a": lambda: 200 * lots.centre,
    "QP-09b": lambda: 200 * lots.upper[0],
    "QP-09c": lambda: 200 * lots.lower[0],
    "W-01": lambda: 100 * limits.strength_share(160, 200),
    "WD-01a": lambda: standing(1.8, 1.5875),
    "WD-01b": lambda: standing(1.8, 2.0),
    "WD-02": lambda: limits.run_out_limit(3048, 12.7, 3048),
    "WD-03": lambda: limits.run_out_limit(1500, 13, 3000),
    "WD-04": lambda: limits.even_thickness(1.5875, 0.15),
    "WD-05": lambda: limits.even_thickness(2.0, 0.15),
    "WD-06": lambda: limits.governing(1.5875, 0.15, 9.525),
    "WD-07": lambda: limits.governing(1.5875, 0.15, 4.7625),
    "WD-08a": lambda: limits.governing(1.5875, 0.15, 12.7),
    "WD-08b": lambda: limits.governing(2.0, 0.15, 12.7),
    "WD-09": lambda: 2000 * limits.strength_share(1600, 2000),
    "WD-11": lambda: limits.material_samples(1000),
    "WD-12": lambda: limits.material_samples(200),
    "QN-06a": lambda: limits.at_least(79.5, 80, "absolute"),
    "QN-06b": lambda: limits.at_least(79.5, 80, "rounding"),
    "QN-06c": lambda: limits.at_least(79.4, 80, "rounding"),
    "QN-06d": lambda: limits.at_least(79.4, 80, "absolute"),
    "G-08": lambda: 90 - space.sloped_corner(60, 90).first.miter_deg,
    "G-22": lambda: 90 - space.sloped_corner(52, 90).first.bevel_deg,
}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['id']} [{row['source']}]")
def test_published_value(row):
    """Ours comes as near to the printed value as its digits say."""
    assert OURS[row["id"]]() == pytest.approx(float(row["value"]), rel=0, abs=float(row["within"]) + 1e-12)


def test_every_value_is_checked():
    """No row without a check and no check without a row."""
    assert [row["id"] for row in ROWS] == list(dict.fromkeys(row["id"] for row in ROWS))
    assert {row["id"] for row in ROWS} == set(OURS)
