"""The invented month."""

from sitebot.journal.check import check
from sitebot.reports import month


def test_it_writes_every_chart_and_map_in_each_language(tmp_path):
    """Five charts and five maps, twice, and the list of what was written."""
    written = month.write(tmp_path)
    assert len(written) == 20
    assert {p.name for p in tmp_path.iterdir()} == {p.name for p in written}
    assert all(p.read_bytes()[:4] == b"\x89PNG" for p in written)


def test_it_is_the_same_month_each_time():
    """Two logs of the month end in the same hash, and each is whole."""
    heads = []
    for _ in range(2):
        journal = month.journal_of_month()
        with journal.turn(month.NAME, month.last_moment()) as turn:
            heads.append(turn.head())
        assert list(check(journal, month.NAME)) == []
    assert heads[0] == heads[1]
