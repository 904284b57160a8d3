"""How a site compares readings with limits: as read, or by the methods that ASTM E29 1.3 tells apart."""

import pytest

from sitebot.rulebook import Papers, Rulebook, rules_folder
from sitebot.rulebook.amounts import amount_of

RULES = Rulebook.load(rules_folder())


@pytest.mark.parametrize(
    ("reading", "rounding", "call"),
    [
        ("79.5 %", "as read", "reject"),
        ("79.5 %", "absolute", "reject"),
        ("79.5 %", "rounding", "at_limit"),
        ("79.4 %", "rounding", "reject"),
        ("80.4 %", "rounding", "at_limit"),
    ],
)
def test_strength_of_79_5_against_80_by_each_method(reading, rounding, call):
    """79.5 against 80 fails or passes with the method chosen (ASTM E29 1.3; limit UFGS-03150A 3.2.3.3)."""
    verdict = RULES.judge("tensile", {"strength": amount_of(reading)}, Papers(rounding=rounding))
    assert verdict is not None
    assert verdict.call == call


@pytest.mark.parametrize(("rounding", "call"), [("as read", "at_limit"), ("absolute", "reject")])
def test_1_6_mm_against_a_sixteenth(rounding, call):
    """1.6 mm is at 1/16 in as read; with all digits of the limit counted it is over 1.5875 mm."""
    measures = {"depth": amount_of("1.6 mm"), "thickness": amount_of("12 mm")}
    verdict = RULES.judge("unbonded", measures, Papers(rounding=rounding))
    assert verdict is not None
    assert verdict.call == call
