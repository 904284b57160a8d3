"""How long before the start: the usual hour, moved by what the iron took, within the site's bounds, and told why."""

import pytest


def morning(day, on, took_min, iron="1"):
    day.to(f"{on}T06:00")
    day.iron("plugged_in", iron)
    day.minutes(took_min)
    day.iron("hot", iron)
    day.sample(iron=iron)
    day.to(f"{on}T15:29")
    day.iron("unplugged", iron)


def preheat(day, on):
    return next((s.at, s.text) for s in day.to(f"{on}T07:01") if s.to == "Wilda")


def after(clocked, took_min, mornings=3, **settings):
    day = clocked("2026-04-13T04:00", irons=["1"], **settings)
    for i in range(mornings):
        morning(day, f"2026-04-{13 + i}", took_min)
    return preheat(day, f"2026-04-{13 + mornings}")


def test_two_mornings_move_nothing(clocked):
    """Two slow mornings may be chance: still 6:00."""
    assert after(clocked, 58, mornings=2)[0] == "06:00"


def test_a_slow_iron_is_plugged_in_earlier_and_the_lead_is_told_why(clocked):
    """Three mornings of 58 min: before 6:00, with the three figures in the text."""
    at, text = after(clocked, 58)
    assert "05:30" <= at < "06:00"
    assert "58, 58 and 58 min" in text


def test_a_quick_iron_is_plugged_in_later(clocked):
    """Four mornings of 30 min: after 6:00, yet not by the bare 30."""
    at, _ = after(clocked, 30, mornings=4)
    assert "06:00" < at <= "06:15"


@pytest.mark.parametrize(("most", "at"), [(65, "05:55"), (70, "05:50")])
def test_the_site_sets_the_bounds(clocked, most, at):
    """A very slow iron stops at preheat_min_most."""
    assert after(clocked, 80, shift={"preheat_min_most": most, "preheat_min_least": 45})[0] == at


def test_one_odd_morning_is_left_out(clocked):
    """45, 45, 45 and once 150, when nobody thought of texting: about 6:00, as without it."""
    day = clocked("2026-04-13T04:00", irons=["1"])
    for on, took in (("13", 45), ("14", 45), ("15", 150), ("16", 45)):
        morning(day, f"2026-04-{on}", took)
    assert "06:00" <= preheat(day, "2026-04-17")[0] <= "06:05"


def test_the_ready_temperature_is_the_rule_s():
    """READY_F is the lower end of the common welding heat in the rules."""
    from sitebot.reminders.warmup import READY_F
    from sitebot.rulebook import Rulebook, rules_folder
    from sitebot.rulebook.amounts import in_unit

    low = Rulebook.load(rules_folder()).rule("practice.weld_heat").limits[0].min
    assert float(in_unit(low, "F")) == READY_F
