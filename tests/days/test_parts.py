"""What goes out over the scripted days is short."""

from collections import Counter

from tests.sms.parts_table import DAYS, by_parts, in_memory


def test_what_goes_out_on_all_days_is_short():
    """Over all scripted days at least 98 % in one part and none above two; the floor only falls."""
    counts = sum((by_parts(in_memory(p.stem).heard) for p in DAYS.glob("*.jsonl")), Counter())
    assert counts[1] >= 0.98 * sum(counts.values()), counts
    assert max(counts) <= 2
