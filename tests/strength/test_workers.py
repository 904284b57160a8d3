"""Several workers on one PostgreSQL: a site's messages in order, reminders once, a channel held by one of them."""

import signal
import threading
import time
from datetime import UTC, datetime, timedelta

import pytest

from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.journal.reader import SqlLog
from sitebot.message import Incoming
from sitebot.site import read_site_file
from sitebot.stage import Stage
from tests.strength.workers import KEY, Worker, make_log, reports, until

START = datetime(2026, 4, 14, 13, 30, tzinfo=UTC)


def entries(journal, kind):
    with journal.reading() as tx:
        rows = tx.exec_driver_sql("SELECT cause, body FROM entries WHERE kind = %s ORDER BY seq", (kind,))
        return rows.all()


def in_threads(count, work):
    """The same work in threads that begin together, each with its own journal."""
    start, faults = threading.Barrier(count), []

    def one(n):
        start.wait()
        try:
            work(n)
        except Exception as error:
            faults.append(error)

    threads = [threading.Thread(target=one, args=(n,)) for n in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert faults == []


def test_reminders_fall_due_once_whoever_looks(postgres):
    """Four workers look at the same due reminder at the same moment: it is recorded and queued once."""
    site = read_site_file(HERE / "site.toml")
    stages = []
    for _ in range(4):
        stage = Stage(site, datetime(2026, 4, 14, 5, 0, tzinfo=site.tz).astimezone(UTC), Journal(postgres, KEY))
        stages.append(stage)
    due = datetime(2026, 4, 14, 6, 1, tzinfo=site.tz).astimezone(UTC)
    in_threads(4, lambda n: stages[n].app.tick("site", due))
    assert len(entries(stages[0].journal, "Reminded")) == 1
    assert len(stages[0].journal.queued(due)) == 1
    for stage in stages:
        stage.journal.close()


def test_a_message_is_answered_by_one_of_those_who_try(postgres):
    """Four workers handle the same kept rows at once: each message is answered once, in order."""
    site = read_site_file(HERE / "site.toml")
    stages = [Stage(site, START, Journal(postgres, KEY)) for _ in range(4)]
    sender = stages[0].addresses["Tobin"]
    messages = [
        Incoming("memory", f"m{n}", sender, f"1 butt ring wall A, {350 + n} F", START + timedelta(seconds=n))
        for n in range(6)
    ]
    rows = stages[0].journal.keep("site", messages)

    def handle(n):
        for row in rows:
            stages[n].app.handle("site", row, START + timedelta(minutes=1))

    in_threads(4, handle)
    causes = [cause for cause, _ in entries(stages[0].journal, "SpliceReported")]
    assert causes == rows
    for stage in stages:
        stage.journal.close()


def test_messages_of_each_site_are_answered_in_order(postgres, office):
    """Three workers, four sites, 120 messages: within a site, entries stand in the order the messages came."""
    sites = [f"site{n}" for n in range(4)]
    people = make_log(postgres, sites)
    texts = reports(3)
    for n in range(120):
        office.say(people[n % 4][n % 8], next(texts))
    workers = [Worker.start(postgres, office.path, "site0") for _ in range(3)]
    assert until(lambda: office.unanswered() == 0, 90)
    for worker in workers:
        worker.kill()
    journal = Journal(postgres, KEY)
    with journal.reading() as tx:
        for site in sites:
            query = "SELECT cause FROM entries WHERE site = %s AND kind = 'SpliceReported' ORDER BY seq"
            causes = tx.exec_driver_sql(query, (site,)).scalars().all()
            assert causes == sorted(causes)
            assert len(SqlLog(tx, site).splices()) == 30
    journal.close()


def test_a_lease_is_held_by_one(postgres):
    """Of eight that ask at the same moment one gets the account; another only when it is given back or runs out."""
    journal = Journal(postgres, KEY)
    journal.migrate()
    got = [False] * 8

    def ask(n):
        got[n] = journal.take_lease("site", "sms", f"w{n}", 30)

    in_threads(8, ask)
    assert sum(got) == 1
    holder = f"w{got.index(True)}"
    assert journal.leases()[0][:2] == ("sms", holder)
    assert journal.take_lease("site", "sms", holder, 30)
    assert not journal.take_lease("site", "sms", "other", 30)
    journal.give_back_lease("site", "sms", holder)
    assert journal.take_lease("site", "sms", "other", -1)
    assert journal.take_lease("site", "sms", holder, 30)
    journal.close()


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGSTOP], ids=["killed", "hangs"])
def test_another_worker_takes_the_account_over(postgres, office, how):
    """The holder is killed, or stopped so that its connections stay open: another answers within fifteen seconds."""
    (senders,) = make_log(postgres)
    texts = reports(5)
    first = Worker.start(postgres, office.path, entry=as_in_operation)
    office.say(senders[0], next(texts))
    assert until(lambda: office.unanswered() == 0)
    second = Worker.start(postgres, office.path, entry=as_in_operation)
    first.kill(how)
    office.say(senders[1], next(texts))
    began = time.monotonic()
    assert until(lambda: office.unanswered() == 0, 20)
    took = time.monotonic() - began
    if how == signal.SIGSTOP:
        first.kill()
    second.kill()
    print(f"\ntaken over in {took:.1f} s")
    assert took < 15


def as_in_operation(url, path, home):
    """A worker with the times it has in operation."""
    import asyncio

    from sitebot.app import App
    from sitebot.running import Running
    from tests.strength.office import OfficeChannel
    from tests.strength.workers import MANY, RULES, quiet

    quiet()
    app = App(Journal(url, KEY, MANY), RULES)
    asyncio.run(Running(app, {"sms": lambda _: OfficeChannel(path)}, home).run())


def test_a_second_process_on_a_file_waits(tmp_path):
    """On SQLite one process has the channels; a second one gets them when the first is gone."""
    url = f"sqlite:///{tmp_path / 'log.db'}"
    first, second = Journal(url, KEY), Journal(url, KEY)
    first.migrate()
    assert first.take_lease("site", "sms", "a", 10)
    assert first.take_lease("site", "matrix", "a", 10)
    assert not second.take_lease("site", "sms", "b", 10)
    first.close()
    assert second.take_lease("site", "sms", "b", 10)
    second.close()
