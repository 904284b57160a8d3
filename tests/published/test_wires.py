"""Wire sizes against the printed table: diameter, circular mils, area, weight and resistance by AWG."""

import math
from pathlib import Path

import pytest

from sitebot.rulebook.yaml_text import read_yaml
from sitebot.trade import power

ROWS = read_yaml(Path(__file__).with_name("wires.yaml"))
KUPHALDT = "Kuphaldt, Lessons in Electric Circuits, table of wire sizes"
IN, FT = 0.0254, 0.3048
COLUMNS = {
    "diameter_in": (KUPHALDT, 6e-5, lambda n: power.awg_diameter_m(n) / IN),
    "cmil": (KUPHALDT, 6.0, lambda n: (power.awg_diameter_m(n) / IN * 1000) ** 2),
    "square_in": (KUPHALDT, 6e-6, lambda n: power.awg_area_m2(n) / IN**2),
    # 8.89 g/cm3 is the density of the copper standard; a pound is 453.59237 g.
    "lb_per_kft": (KUPHALDT, 0.03, lambda n: power.awg_area_m2(n) * 1000 * FT * 8890 / 0.45359237),
    "ohm_per_km": ("wp.1728.org wire table", 0.011, lambda n: power.wire_ohm(1000, power.awg_area_m2(n))),
    "ohm_per_kft": ("computed, ASTM B258 and IACS", 1e-4, lambda n: power.wire_ohm(1000 * FT, power.awg_area_m2(n))),
}


@pytest.mark.parametrize("column", COLUMNS, ids=lambda c: f"{c} [{COLUMNS[c][0]}]")
@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['id']} {r['awg']} AWG")
def test_wire(row, column):
    """Ours agrees with the printed column."""
    _, within, ours = COLUMNS[column]
    assert ours(int(row["awg"])) == pytest.approx(float(row[column]), rel=0, abs=within)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['id']} {r['awg']} AWG [{KUPHALDT}]")
def test_size_of_area(row):
    """The printed area leads back to its size number."""
    assert power.awg_of_area(float(row["square_in"]) * IN**2) == pytest.approx(float(row["awg"]), abs=0.01)


def test_diameter_ends():
    """Size 36 is 5 mil and 4/0 is 460 mil, 39 sizes apart [ASTM B258-02]."""
    assert power.awg_diameter_m(36) / IN == pytest.approx(0.005)
    assert power.awg_diameter_m(-3) / IN == pytest.approx(0.46)
    assert math.log(92, power.awg_diameter_m(5) / power.awg_diameter_m(6)) == pytest.approx(39)
