"""Workers as processes of their own, forked with everything loaded, so that hundreds can be started and killed."""

import asyncio
import ctypes
import itertools
import os
import random
import signal
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sitebot import held
from sitebot.app import App
from sitebot.demo import HERE
from sitebot.journal import Journal, Limits
from sitebot.numbers import e164
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.running import Running
from sitebot.site import read_site_file
from sitebot.stage import Stage, load_site
from tests.strength.office import OfficeChannel

KEY = b"k" * 32
MANY = Limits(person_hour=10**6, stranger_hour=10**6, site_minute=10**6)
RULES = Rulebook.load(rules_folder())
SITE = read_site_file(HERE / "site.toml")
PLACES = [p.name for p in SITE.places]


def warm():
    """Read a text once before forking: what is compiled then is compiled in every worker."""
    stage = Stage(SITE, datetime.now(UTC))
    stage.say(SITE.people[0].name, next(reports(0)))


def make_log(url, sites=("site",)):
    """A migrated log with the demo site's people in each site; eight people report, four hear of it elsewhere."""
    warm()
    journal = Journal(url, KEY, MANY)
    journal.migrate()
    for n, name in enumerate(sites):
        people = [p.model_copy(update={"phone": f"+1303555{n:02}{i:02}"}) for i, p in enumerate(crew(SITE))]
        with journal.turn(name, datetime.now(UTC)) as turn:
            load_site(turn, SITE.model_copy(update={"people": tuple(people)}))
    journal.close()
    return [[e164(f"+1303555{n:02}{i:02}", "US") for i in range(8)] for n in range(len(sites))]


def crew(site):
    first = site.people[0]
    eight = [first.model_copy(update={"name": f"Welder {chr(65 + i)}", "role": "crew"}) for i in range(8)]
    return [*eight, *(p for p in site.people if p.role != "crew")]


def reports(seed):
    """Reports that all differ, so that none is taken for the same one sent twice."""
    dice = random.Random(seed)
    all_of_them = [
        f"1 butt {place}, iron {iron}, {heat}"
        for place, iron, heat in itertools.product(PLACES, (1, 2), range(345, 385))
    ]
    while True:
        dice.shuffle(all_of_them)
        yield from all_of_them


@dataclass
class Worker:
    """A forked process that runs the assistant."""

    pid: int

    @classmethod
    def start(cls, url, office: Path, home="site", entry=None):
        pid = os.fork()
        if pid:
            alive.append(worker := cls(pid))
            return worker
        try:
            apart()
            (entry or work)(url, office, home)
        finally:
            os._exit(1)

    def kill(self, how=signal.SIGKILL):
        os.kill(self.pid, how)
        if how == signal.SIGKILL:
            os.waitpid(self.pid, 0)
            alive.remove(self)


#: Workers that were started and not killed yet.
alive: list["Worker"] = []


def apart():
    """Nothing of the parent's is held open, and nobody outlives it."""
    ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG
    nowhere = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(nowhere, number)


def work(url, office, home):
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    quiet()
    held.LEASE, held.RENEW, held.LOOK = 1.0, 0.25, 0.1  # so that a killed one is followed by the next within the test
    journal = Journal(url, KEY, MANY)
    running = Running(App(journal, RULES), {"sms": lambda _: OfficeChannel(office)}, home)
    asyncio.run(running.run())


def quiet():
    import logging

    import structlog

    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.CRITICAL))


def until(condition, seconds=30.0, every=0.02):
    """Wait for a condition of the world outside this process; False when it did not come."""
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if condition():
            return True
        time.sleep(every)
    return False
