"""By hand: 300 texts in and their answers out while assistant, daemon and modem are killed or hung at random."""

import os
import random
import re
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import closing

import pytest

from sitebot.channels.sms import smsd
from sitebot.journal.check import check
from tests.sms.air import joined
from tests.sms.assistant import NUMBERS, Assistant
from tests.sms.conftest import need_daemon
from tests.sms.daemon import Daemon, Modem, until

#: Seeds of the dice; another one by hand: SITEBOT_SEED=7.
SEED = int(os.environ.get("SITEBOT_SEED", "1"))
TEXTS = int(os.environ.get("SITEBOT_TEXTS", "300"))
#: What is done to whom, how often.
HARM = {
    ("assistant", "kill"): 8,
    ("assistant", "hang"): 4,
    ("daemon", "kill"): 6,
    ("daemon", "hang"): 4,
    ("modem", "swallow"): 4,
    ("modem", "hang"): 2,
    ("modem", "kill"): 2,
}


class Site:
    """Modem, daemon under its watchdog, assistant: each a process."""

    def __init__(self, root):
        self.modem = Modem(root)
        self.daemon = Daemon(root, self.modem.section, statusfrequency=2, sendtimeout=30, maxretries=2, retrytimeout=30)
        self.assistant = Assistant(root, self.daemon.smsdrc, replies_per_hour=1000)
        # The modem's orders come from two threads: texts and harm.
        self.lock = threading.Lock()
        self.watch()
        self.assistant.start().ready()

    def watch(self):
        """The daemon's unit is started: the watchdog, and the daemon under it."""
        with (self.daemon.root / "watchdog.log").open("ab") as log:
            command = [sys.executable, "-m", "sitebot.channels.sms.watchdog", str(self.daemon.smsdrc)]
            self.watchdog = subprocess.Popen(command, stdout=log, stderr=log)

    def unwatch(self):
        """The daemon's unit is stopped."""
        self.watchdog.terminate()
        self.watchdog.wait(30)

    def daemon_pid(self):
        with open(f"/proc/{self.watchdog.pid}/task/{self.watchdog.pid}/children") as children:
            return next((int(pid) for pid in children.read().split()), None)

    def receive(self, sender, text):
        with self.lock:
            self.modem.receive(sender, text)

    def harm(self, whom, how, seconds):
        match whom, how:
            case "assistant", "kill":
                self.assistant.kill()
                time.sleep(seconds / 5)
                self.assistant.start()
            case "daemon", "kill" | "hang":
                # Between two starts there is none to harm. A hung one is the watchdog's to find and to kill.
                pid = until(self.daemon_pid, 60, "a daemon to harm")
                os.kill(pid, signal.SIGKILL if how == "kill" else signal.SIGSTOP)
            case "modem", "swallow":
                with self.lock:
                    self.modem.order("set", fail=["swallow"])
            case "modem", "kill":
                with self.lock:
                    self.modem.kill()
                    time.sleep(seconds / 5)
                    self.modem.switch_on()
            case _, "hang":
                process = self.assistant.process if whom == "assistant" else self.modem.process
                process.send_signal(signal.SIGSTOP)
                time.sleep(seconds)
                process.send_signal(signal.SIGCONT)

    def close(self):
        self.assistant.stop()
        self.unwatch()
        self.modem.close()


def answered(site):
    """The numbers of the splices whose reports were answered over the air."""
    texts = [text for _, text in joined(site.modem.on_air())]
    return {int(n) for text in texts for n in re.findall(r"^#(\d+): 1 ", text)}


def harm_at_random(site, dice):
    harm = [what for what, times in HARM.items() for _ in range(times)]
    dice.shuffle(harm)
    for whom, how in harm:
        time.sleep(dice.uniform(4, 20))
        print(f"{time.strftime('%H:%M:%S')} {how} {whom}", flush=True)
        site.harm(whom, how, dice.uniform(5, 15))


def text_and_harm(site, dice):
    """All texts at random times while harm is done; returns when both are over."""
    harming = threading.Thread(target=harm_at_random, args=(site, random.Random(SEED + 1)))
    harming.start()
    senders = [NUMBERS[n] for n in ("Tobin", "Amaro", "Wilda")]
    for number in range(1, TEXTS + 1):
        site.receive(dice.choice(senders), f"#{number} butt ring wall A")
        time.sleep(dice.expovariate(TEXTS / 400))
    harming.join()


@pytest.mark.long
def test_three_hundred_texts_over_thirty_kills(tmp_path):
    """No text lost, no record doubled, every text answered; parts sent twice are counted and named."""
    need_daemon()
    site, began = Site(tmp_path), time.monotonic()
    try:
        text_and_harm(site, random.Random(SEED))
        end = time.monotonic() + 1200
        while len(answered(site)) < TEXTS and time.monotonic() < end:
            time.sleep(1)
        report(site, time.monotonic() - began)
    finally:
        site.close()


def report(site, seconds):
    twice = {k: n for k, n in Counter((e["to"], e["text"]) for e in site.modem.on_air()).items() if n > 1}
    with closing(site.assistant.journal()) as journal:
        with journal.log("site") as log:
            numbers = [s.number for s in log.splices()]
        with journal.reading() as tx:
            told = tx.exec_driver_sql("SELECT count(*) FROM entries WHERE kind = 'SpliceReported'").scalar_one()
        faults, load = list(check(journal, "site")), journal.load()
    rows = site.daemon.rows(smsd.inbox)
    print(f"\n{sum(HARM.values())} times harmed, {seconds:.0f} s: {TEXTS} texts in, {len(rows)} rows of the daemon,")
    print(f"{len(numbers)} splices in the record by {told} entries, {len(answered(site))} answered over the air,")
    print(f"{len(site.modem.on_air())} parts on air, {len(twice)} of them sent more than once:")
    for (to, text), n in twice.items():
        print(f"  {n} x to {to}: {text}")
    assert sorted(numbers) == list(range(1, TEXTS + 1))
    assert told == TEXTS
    assert answered(site) == set(range(1, TEXTS + 1))
    assert (faults, load.new, load.failed, load.flood, load.queued, load.not_sent) == ([], 0, 0, 0, 0, 0)
