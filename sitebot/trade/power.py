"""Power for irons: wire sizes, what a cord takes from the heat, what a breaker or a generator carries.

Pure formulas for resistive irons at power factor 1; which limit counts as good enough is the caller's. No rule of a
site and no wording may live here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

FT_M = 0.3048
#: Annealed copper at 20 C [ohm m]: International Annealed Copper Standard, NBS Handbook 100 (1966), 0.017241 ohm mm2/m.
COPPER_OHM_M = 1.7241e-8
#: Change of copper's resistance by degree from 20 C [1/K]: Kuphaldt, Lessons in Electric Circuits I (CRC Handbook).
COPPER_PER_K = 0.004041
#: ASTM B258: size 36 is 0.005 in, size 0000 is 0.46 in, 39 sizes between in one ratio.
_AWG_36_M = 0.005 * 0.0254


@dataclass(frozen=True, slots=True)
class Iron:
    """An iron as its plate names it. Common practice: 120 V, 8 A."""

    rated_v: float = 120.0
    rated_a: float = 8.0

    @property
    def ohm(self) -> float:
        return self.rated_v / self.rated_a

    @property
    def rated_w(self) -> float:
        return self.rated_v * self.rated_a


@dataclass(frozen=True, slots=True)
class Drop:
    """What arrives at the end of a cord."""

    volts_at_iron: float
    amps: float
    #: Share of the supply's voltage that the cord takes, 0 to 1.
    lost_share: float
    #: Heat left of the iron's rating, 0 to 1.
    heat_share: float


def awg_diameter_m(awg: float) -> float:
    """Diameter [m] of solid wire of a size number; 1/0 is 0, 2/0 is -1.

    Limits: -3 <= awg <= 44. Source: ASTM B258-02, 0.005 in x 92^((36 - n)/39).

    >>> round(awg_diameter_m(14) / 0.0254, 4)
    0.0641
    """
    if not -3 <= awg <= 44:
        raise ValueError(f"awg must lie in -3..44, not {awg}")
    diameter: float = _AWG_36_M * 92 ** ((36 - awg) / 39)
    return diameter


def awg_area_m2(awg: float) -> float:
    """Cross-section [m2] of a wire size; stranded wire of a size has the same copper.

    Limits and source: as ``awg_diameter_m``; 1 circular mil is a circle 0.001 in across.

    >>> round(awg_area_m2(12) * 1e6, 3)
    3.309
    """
    return math.pi / 4 * awg_diameter_m(awg) ** 2


def awg_of_area(area_m2: float) -> float:
    """The size number [not whole] of a cross-section [m2]; the inverse of ``awg_area_m2``.

    Limits: 1e-9 <= area_m2 <= 1.1e-4. Source: ASTM B258-02.

    >>> round(awg_of_area(2.5e-6), 1)
    13.2
    """
    if not 1e-9 <= area_m2 <= 1.1e-4:
        raise ValueError(f"area_m2 must lie in 1e-9..1.1e-4, not {area_m2}")
    diameter = math.sqrt(4 * area_m2 / math.pi)
    return 36 - 39 * math.log(diameter / _AWG_36_M, 92)


def wire_ohm(length_m: float, area_m2: float, temp_c: float = 20.0) -> float:
    """Resistance [ohm] of one copper wire of this length and cross-section at a wire temperature.

    Limits: length_m >= 0, area_m2 > 0, -40 <= temp_c <= 100. Source: R = rho L / A with the standard copper at 20 C and
    its temperature coefficient (see the constants above).

    >>> round(wire_ohm(1000, awg_area_m2(14)), 2)
    8.29
    """
    if length_m < 0 or area_m2 <= 0 or not -40 <= temp_c <= 100:
        raise ValueError(f"no such wire: {length_m} m, {area_m2} m2, {temp_c} C")
    return COPPER_OHM_M * (1 + COPPER_PER_K * (temp_c - 20)) * length_m / area_m2


def drop(
    supply_v: float, length_m: float, area_m2: float, iron: Iron | None = None, irons: int = 1, temp_c: float = 20.0
) -> Drop:
    """What a cord of this length (one way) leaves for ``irons`` irons plugged in at its end.

    Limits: 0 < supply_v <= 1000, irons >= 1, and as ``wire_ohm``. Source: Ohm's law for a resistive load, out and back;
    heat goes with the square of the voltage, (V / Vn)^2.

    >>> d = drop(120, 100 * FT_M, awg_area_m2(12))
    >>> round(d.volts_at_iron, 1), round(d.heat_share, 2)
    (117.5, 0.96)
    """
    iron = iron or Iron()
    if not 0 < supply_v <= 1000 or irons < 1:
        raise ValueError(f"no such supply: {supply_v} V for {irons} irons")
    load = iron.ohm / irons
    cord = 2 * wire_ohm(length_m, area_m2, temp_c)
    amps = supply_v / (load + cord)
    at_iron = amps * load
    return Drop(at_iron, amps, cord / (load + cord), heat_share(at_iron, iron.rated_v))


def heat_share(volts: float, rated_v: float) -> float:
    """Heat left of a resistive iron's rating at a voltage, (V / Vn)^2.

    Limits: volts >= 0, rated_v > 0. Source: Joule's law.

    >>> round(heat_share(108, 120), 4)
    0.81
    """
    if volts < 0 or rated_v <= 0:
        raise ValueError(f"volts must not be below 0 nor rated_v 0, not {volts} and {rated_v}")
    share: float = (volts / rated_v) ** 2
    return share


def longest_cord_m(
    supply_v: float,
    area_m2: float,
    least_heat_share: float,
    iron: Iron | None = None,
    irons: int = 1,
    temp_c: float = 20.0,
) -> float:
    """The longest cord [m, one way] that leaves this share of the iron's heat; 0 where not even none does.

    Limits: 0 < least_heat_share <= 4, and as ``drop``. Source: ``drop`` solved for the length.

    >>> round(longest_cord_m(120, awg_area_m2(16), 0.9) / FT_M)
    101
    """
    iron = iron or Iron()
    if not 0 < least_heat_share <= 4 or not 0 < supply_v <= 1000 or irons < 1:
        raise ValueError(f"no such wish: share {least_heat_share} of {irons} irons at {supply_v} V")
    least_v = iron.rated_v * math.sqrt(least_heat_share)
    cord_ohm = iron.ohm / irons * (supply_v / least_v - 1)
    return max(0.0, cord_ohm / 2 / wire_ohm(1, area_m2, temp_c))


def smallest_area_m2(supply_v: float, length_m: float, amps: float, lost_share: float, temp_c: float = 20.0) -> float:
    """The least cross-section [m2] that loses no more than this share of the voltage at a given current, out and back.

    Limits: all above 0, lost_share < 1. Source: Ohm's law; Kuphaldt's worked example (230 V, 25 A, 2 300 ft, 220 V
    left).

    >>> round(smallest_area_m2(230, 2300 * FT_M, 25, 10 / 230) * 1e6, 1)
    60.4
    """
    if min(supply_v, length_m, amps, lost_share) <= 0 or lost_share >= 1:
        raise ValueError("supply_v, length_m, amps and lost_share must be above 0, lost_share below 1")
    return 2 * length_m * amps * wire_ohm(1, 1, temp_c) / (lost_share * supply_v)


def irons_carried(capacity: float, each: float, share: float = 1.0) -> int:
    """How many irons a breaker [A] or generator [rated W] carries at this share of its rating, in the same unit.

    Limits: capacity >= 0, each > 0, 0 < share <= 1. Source: arithmetic; rated, not peak, watts count (Journal of Light
    Construction, Buying a Portable Generator).

    >>> irons_carried(20, 8, 0.8), irons_carried(2500, 960)
    (2, 2)
    """
    if capacity < 0 or each <= 0 or not 0 < share <= 1:
        raise ValueError(f"no such load: {capacity}, {each}, {share}")
    return math.floor(capacity * share / each + 1e-9)
