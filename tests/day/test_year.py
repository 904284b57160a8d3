"""A year of two crews with restarts and outages, and kills at any moment: nothing lost, nothing twice, no day off."""

import itertools
import os
import random
import signal
import subprocess
import sys
import time
from collections import defaultdict
from datetime import date, timedelta
from pathlib import Path

import pytest

from sitebot.journal.check import check
from tests.day.almanac import SITE, Player, deeds, stretch

FIRST, LAST = date(2026, 1, 5), date(2027, 1, 4)
MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def year(tmp_path_factory):
    """The year played once, started anew every fortnight or so, and down for up to two hours now and then."""
    player = Player(f"sqlite:///{tmp_path_factory.mktemp('year') / 'log.db'}", FIRST, LAST, is_hasty=True)
    chance, down = random.Random(7), []
    while True:
        at, is_deed = player.next_at()
        if at >= player.end:
            return player, down
        if chance.random() < 0.01:
            player.restart()
        if not is_deed and chance.random() < 0.01:
            down.append((at, at + chance.randrange(20, 120) * MINUTE))
            _sleep(player, down[-1][1])
            continue
        player.do(at, is_deed)


def _sleep(player, until):
    """The machine is down, people go on; then one look at the clock."""
    for deed in deeds(FIRST, LAST)[player.done :]:
        if deed.at >= until:
            break
        player.do(deed.at, True)
    player.do(until, False)


def lines(player, kind):
    """Times of a kind of line by crew and shift day."""
    found = defaultdict(list)
    for at, what, day, _ in player.reminded():
        name, _, crew = what.partition("/")
        if name == kind:
            found[crew, day].append(at)
    return found


def lateness(at, down):
    """When what falls due at a time can go out: then, or when the machine is up again."""
    return max([at, *(until for begins, until in down if begins <= at < until)])


def shifts():
    return list(stretch(FIRST, LAST - timedelta(days=1)))


def test_no_first_reminder_is_lost(year):
    """Of every shift the preheat, the sample and the plug go out when they fall due, unless settled by then."""
    player, down = year
    sent = {kind: lines(player, kind) for kind in ("preheat", "sample", "unplug")}
    missing = []
    for w in shifts():
        if not w.works:
            continue
        wanted = [("sample", w.start, w.passed), ("unplug", w.end, w.off)]
        wanted.append(("preheat", w.start - 60 * MINUTE, w.plugged))
        for kind, due, settled in wanted:
            at = lateness(due, down)
            if settled and settled <= at:
                continue
            first = sent[kind][w.crew, w.day.isoformat()][:1]
            # Warm-ups move nothing here: nobody says when an iron is hot.
            if not first or first[0] != at:
                missing.append((w, kind, at, first))
    assert missing == []


def test_what_nobody_settles_is_repeated(year):
    """Between the first and the report no gap is longer than 20 minutes, half an hour after the first hour."""
    player, down = year
    sent, gaps = lines(player, "preheat"), []
    for w in shifts():
        times = sent[w.crew, w.day.isoformat()]
        until = min(w.plugged or w.end, w.start + 100 * MINUTE)
        if w.works and times:
            marks = [*(t for t in times if t < until), until]
            pairs = [(a, b, 30 if a >= times[0] + 60 * MINUTE else 20) for a, b in itertools.pairwise(marks)]
            gaps += [(w, a, b) for a, b, most in pairs if b > lateness(a + most * MINUTE, down)]
    assert gaps == []


def test_nothing_goes_out_after_it_is_settled(year):
    """No preheat after the plug-in, no sample after the pass, no plug after the off of a shift."""
    player, _ = year
    late = []
    for kind, field in (("preheat", "plugged"), ("sample", "passed"), ("unplug", "off")):
        sent = lines(player, kind)
        for w in shifts():
            settled = getattr(w, field)
            if settled:
                late += [(w, kind, t) for t in sent[w.crew, w.day.isoformat()] if t > settled]
    assert late == []


def test_nothing_goes_out_of_a_day_off(year):
    """Weekends, the shut week and days called off have no line at all."""
    player, _ = year
    worked = {(w.crew, w.day.isoformat()) for w in shifts() if w.works}
    sent = [(what, day) for _, what, day, _ in player.reminded() if "/" in what]
    assert sent
    assert {(what.split("/")[1], day) for what, day in sent if f"{FIRST}" <= day < f"{LAST}"} <= worked


def test_nobody_hears_the_same_twice_within_ten_minutes(year):
    """Of one line of one shift to one person, at least ten minutes lie between two."""
    player, _ = year
    last, close = {}, []
    for at, what, day, people in player.reminded():
        if what != "round":
            key = (what, day, people)
            if key in last and at - last[key] < 10 * MINUTE:
                close.append((what, day, at))
            last[key] = at
    assert close == []


def test_each_person_gets_one_text_at_a_time(year):
    """However many lines are due at one moment, one text a person."""
    player, _ = year
    texts = [(at, who) for at, who, _ in player.texts()]
    assert len(texts) == len(set(texts))


def test_both_clock_changes_were_worked_through():
    """The stretch holds a night of 7 1/2 and one of 9 1/2 hours, so that the laws above speak of them as well."""
    ends = {w.day: w for w in shifts() if w.crew == "night"}
    assert (ends[date(2026, 3, 7)].end - ends[date(2026, 3, 7)].start) == timedelta(hours=7.5)
    assert (ends[date(2026, 10, 31)].end - ends[date(2026, 10, 31)].start) == timedelta(hours=9.5)
    assert SITE.tz.key == "America/Denver"


def test_the_log_of_the_year_is_whole(year):
    """The chain holds and the tables follow from it."""
    player, _ = year
    assert list(check(player.journal, "site")) == []


# --- killed ---------------------------------------------------------------------------------------------------------


def killed(url, first, last, kills, seed):
    """Play in a process of its own, killed so many times at any moment of the whole stretch."""
    longest_s = 0.15 if (last - first).days < 30 else 0.6
    chance = random.Random(seed)
    for _ in range(kills):
        process = start(url, first, last)
        process.stdout.readline()  # a kill while Python starts says nothing
        time.sleep(chance.random() * longest_s)
        process.send_signal(signal.SIGKILL)
        process.communicate()
    process = start(url, first, last)
    _, errors = process.communicate()
    assert process.returncode == 0, errors.decode()


def start(url, first, last):
    folder = Path(__file__).parents[2]
    command = [sys.executable, str(Path(__file__).with_name("almanac.py")), url, str(first), str(last)]
    env = os.environ | {"PYTHONPATH": str(folder)}
    return subprocess.Popen(command, cwd=folder, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def a_year_of_kills():
    return pytest.param(200, FIRST, LAST, marks=pytest.mark.long, id="a year with 200")


@pytest.mark.parametrize(
    ("kills", "first", "last"), [pytest.param(10, date(2026, 3, 2), date(2026, 3, 7), id="10"), a_year_of_kills()]
)
def test_kills_at_any_moment_change_nothing(tmp_path, database, kills, first, last):
    """Killed with -9 in the middle of its work: the same texts at the same times as without, and a whole log."""
    whole = Player(f"sqlite:///{tmp_path / 'whole.db'}", first, last)
    while whole.step():
        pass
    killed(database, first, last, kills, seed=kills)
    again = Player(database, first, last)
    assert whole.texts() == again.texts()
    assert whole.reminded() == again.reminded()
    assert list(check(again.journal, "site")) == []
    again.journal.close()
