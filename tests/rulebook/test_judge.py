"""Limits: inclusive, several hold together, compared at the precision of the reading."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitebot.rulebook import Papers, Rulebook, rules_folder
from sitebot.rulebook.amounts import amount_of, amounts_in, limit_as_read, measured

BOOK = Rulebook.load(rules_folder())
METRIC = Papers(metric=True)


def gap(depth, thickness=None, papers=None):
    measures = {"depth": amount_of(depth)}
    if thickness:
        measures["thickness"] = amount_of(thickness)
    return BOOK.judge("unbonded", measures, papers or Papers())


#: Published limits: UFGS-03150A 3.2.3.3; the thickness at which 15 % equals 1/16 in is 10.58 mm (0.4167 in).
@pytest.mark.parametrize(
    ("depth", "thickness", "call"),
    [
        ("1/16 in", "1/2 in", "at_limit"),
        ("1/16 in", "3/8 in", "reject"),
        ("1.6 mm", "12 mm", "at_limit"),
        ("1.59 mm", "12 mm", "at_limit"),
        ("1.7 mm", "12 mm", "reject"),
        ("2 mm", "15 mm", "reject"),
        ("0.9 mm", "6 mm", "at_limit"),
        ("1 mm", "6 mm", "reject"),
        ("0.058 in", "3/8 in", "reject"),
        ("0.06 in", "1/2 in", "at_limit"),
        ("0.063 in", "1/2 in", "at_limit"),
        ("3/64 in", "5/16 in", "at_limit"),
        ("1 mm", None, "need_more"),
        ("1/16 in", None, "need_more"),
        ("2 mm", None, "reject"),
    ],
)
def test_a_bond_gap_is_held_to_both_limits(depth, thickness, call):
    """1/16 in or 15 % of the thickness: the smaller governs, exactly at it passes."""
    assert call == gap(depth, thickness).call


def test_metric_papers_have_two_millimetres():
    """On metric papers 1/16 in is printed as 2 mm: 1.8 mm passes there and fails in inches."""
    assert gap("1.8 mm", "15 mm", METRIC).call == "accept"
    assert gap("1.8 mm", "15 mm").call == "reject"


def test_the_site_s_own_limit_replaces_the_rule_s():
    """A limit of 1 mm by the site's procedure governs and its document is named; the share still holds."""
    own = SimpleNamespace(max="1 mm", min=None, source="Procedure 7")
    papers = Papers(limits={"acceptance.bond_gap": own})
    verdict = gap("1.2 mm", "12 mm", papers)
    assert (verdict.call, verdict.governs.source) == ("reject", "Procedure 7")
    assert gap("1 mm", "6 mm", papers).call == "reject"


def test_the_arithmetic_is_told():
    """The steps of a verdict can be read, in both languages."""
    verdict = gap("1 mm", "6 mm")
    assert verdict.arithmetic("en") == "15 % x 6 mm = 0.9 mm; 1 mm > 0.9 mm"
    assert gap("1/16 in", "3/8 in").arithmetic("es") == "15 % x 3/8 pulg = 0.056 pulg; 1/16 pulg > 0.056 pulg"
    assert ("acceptance.bond_gap", BOOK.rule("acceptance.bond_gap").hash) == (verdict.rule, verdict.hash)


def test_what_is_missing_is_named():
    """Without the thickness, the parent's strength or the length of the run nothing is judged."""
    assert gap("1 mm").missing == "thickness"
    assert BOOK.judge("tensile", {"strength": amount_of("1450 psi")}).missing == "parent_strength"
    assert BOOK.judge("runout", {"deviation": amount_of("1/2 in")}).missing == "run_length"


@given(st.integers(1, 400), st.integers(10, 300))
def test_a_deeper_gap_never_passes_where_a_shallower_fails(hundredths, thickness):
    """Verdicts are monotone in the depth."""
    base = f"{thickness / 10} mm"
    calls = [gap(f"{d / 100:.2f} mm", base).passes for d in (hundredths, hundredths + 1)]
    assert calls != [False, True]


@given(st.integers(1, 256), st.integers(1, 64))
def test_a_gap_in_inches_is_judged_as_its_fraction(sixty_fourths, thickness):
    """In whole 64ths the verdict is that of exact arithmetic: at most 4/64 and at most 15 % of the thickness."""
    verdict = gap(f"{sixty_fourths}/64 in", f"{thickness}/64 in")
    assert verdict.passes == (sixty_fourths <= 4 and sixty_fourths * 100 <= 15 * thickness)


@pytest.mark.parametrize(
    ("limit", "reading", "as_read"),
    [
        ("1/16 in", "1.6 mm", "1.6 mm"),
        ("1/16 in", "2 mm", "1.6 mm"),
        ("360 F", "182 C", "182 C"),
        ("80 %", "79.9 %", "80 %"),
    ],
)
def test_a_limit_is_written_at_the_precision_of_the_reading(limit, reading, as_read):
    """Brought into another unit a limit is as fine as that unit is usually written, or as the reading is."""
    assert as_read == limit_as_read(amount_of(limit), amount_of(reading)).words("en")


def test_amounts_of_a_sentence_are_found_with_their_units():
    """Fractions, decimals with comma, units in both languages, and bare numbers."""
    found = [str(a) for a in amounts_in('1 1/2" wide, 0,9 mm hondo, 188c, 20 segundos, 15 por ciento, at 390')]
    assert found == ["1 1/2 in", "0.9 mm", "188 C", "20 s", "15 %", "390"]


@pytest.mark.parametrize(("value", "unit"), [("deep", "mm"), (1, "furlong"), ("1/0", "in")])
def test_a_measure_that_is_none_is_refused(value, unit):
    """Not a number, not a unit: ValueError, never a guess."""
    with pytest.raises(ValueError, match=r"no number|nobody here"):
        measured(value, unit)
