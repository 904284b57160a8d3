"""Whole scripted days as texts through the air: the pseudo terminal's modem, a real gammu-smsd, a moved clock."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest

from sitebot.stage import Stage
from tests.sms.conftest import modem_at, need_daemon
from tests.sms.parts_table import ON_AIR, by_parts, in_memory, on_air


@pytest.fixture(scope="module")
def aired(tmp_path_factory):
    """The days, each on a modem of its own and at the same time: nearly all of it is waiting for the air."""
    need_daemon()

    def play(name):
        # On a slow machine a modem may need more than a second, and after some errors the daemon sleeps for 30 s.
        for modem in modem_at(tmp_path_factory.mktemp(name), commtimeout=5):
            return on_air(name, modem)

    with ThreadPoolExecutor() as pool:
        return dict(zip(ON_AIR, pool.map(play, ON_AIR), strict=True))


@pytest.mark.parametrize("name", ON_AIR)
def test_a_day_by_real_texts_leaves_the_same_record(aired, name):
    """After each line the record is that of the memory channel; people hear the same, behind one greeting each."""
    memory, air = in_memory(name), aired[name]
    assert air.records == memory.records == in_memory(name, Stage).records
    greetings = Counter(air.heard) - Counter(memory.heard)
    assert Counter(memory.heard) - Counter(air.heard) == Counter()
    assert all(text.startswith("Sitebot") for _, text in greetings)
    assert len(greetings) == len({to for to, _ in air.heard})


@pytest.mark.parametrize("name", ON_AIR)
def test_what_was_heard_is_short(aired, name):
    """Greetings included, at least 95 % in one part and none above three."""
    counts = by_parts(aired[name].heard)
    assert counts[1] >= 0.95 * sum(counts.values()), counts
    assert max(counts) <= 3
