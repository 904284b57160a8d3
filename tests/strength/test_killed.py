"""Killed at any moment (SIGKILL): every message is answered once, nothing is lost or doubled, the chain holds."""

import os
import random
import time

import pytest

from sitebot.journal import Journal
from sitebot.journal.check import check
from tests.strength.workers import KEY, Worker, make_log, reports, until

#: Seeds of the dice; another one by hand: SITEBOT_SEED=7.
SEED = int(os.environ.get("SITEBOT_SEED", "1"))


def kill_often(url, office, senders, kills, workers, most_s=0.4):
    """Eight people report while workers are killed at random moments and started again."""
    dice, texts = random.Random(SEED), [reports(i) for i in range(len(senders))]
    running = [Worker.start(url, office.path) for _ in range(workers)]
    for _ in range(kills):
        for _ in range(dice.randrange(1, 4)):
            who = dice.randrange(len(senders))
            office.say(senders[who], next(texts[who]))
        time.sleep(dice.uniform(0, most_s))
        victim = dice.randrange(workers)
        running[victim].kill()
        running[victim] = Worker.start(url, office.path)
    left = settled(office)
    for worker in running:
        worker.kill()
    assert left == 0, f"{left} unanswered, and none more was answered in {PATIENCE_S} s"


#: A machine with other work is slow; one on which nothing moves for so long is stuck [s].
PATIENCE_S = 60


def settled(office):
    """Wait for as long as answers go on coming; how many messages were left without one."""
    left = office.unanswered()
    while left and until(lambda left=left: office.unanswered() < left, PATIENCE_S, every=0.5):
        left = office.unanswered()
    return left


def assert_nothing_lost_or_doubled(url, office, sites=("site",)):
    (said,) = office.ask("SELECT count(*) FROM said")[0]
    assert office.answered_twice() == []
    journal, made = Journal(url, KEY), 0
    for site in sites:
        assert list(check(journal, site)) == []
        with journal.reading() as tx:
            from sitebot.journal.reader import SqlLog

            splices = SqlLog(tx, site).splices()
        assert sorted(s.number for s in splices) == list(range(1, len(splices) + 1))
        made += len(splices)
    assert made == said
    assert journal.load().new == 0
    journal.close()
    return said


def run(url, office, kills, workers):
    (senders,) = make_log(url)
    kill_often(url, office, senders, kills, workers)
    said = assert_nothing_lost_or_doubled(url, office)
    (twice,) = office.ask("SELECT coalesce(sum(times > 1), 0) FROM heard")[0]
    (again,) = office.ask("SELECT coalesce(sum(delivered > 1), 0) FROM said")[0]
    print(f"\n{kills} kills, {said} messages, {again} brought again, {twice} sends repeated under the same key")


def test_killed_while_eight_people_report_sqlite(tmp_path, office):
    """One worker on SQLite, killed thirty times."""
    run(f"sqlite:///{tmp_path / 'log.db'}", office, 30, 1)


def test_killed_while_eight_people_report_postgres(postgres, office):
    """Three workers on PostgreSQL, one of them killed thirty times."""
    run(postgres, office, 30, 3)


@pytest.mark.long
def test_killed_five_hundred_times_sqlite(tmp_path, office):
    """One worker on SQLite, killed five hundred times."""
    run(f"sqlite:///{tmp_path / 'log.db'}", office, 500, 1)


@pytest.mark.long
def test_killed_two_hundred_times_postgres(postgres, office):
    """Three workers on PostgreSQL, one of them killed two hundred times."""
    run(postgres, office, 200, 3)
