"""Any change to what is stored is found and named: bytes, rows left out, put in or exchanged, the end cut off."""

import os
import random
import shutil
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from sitebot import entries as e
from sitebot.journal import Damaged, Journal
from sitebot.journal.check import check

NOW = datetime(2026, 4, 14, 15, 0, tzinfo=UTC)
#: 1,000 by hand (SITEBOT_MANY=1), fewer in every run.
MANY = 1000 if os.environ.get("SITEBOT_MANY") else 90


@pytest.fixture(scope="module")
def original(tmp_path_factory):
    path = tmp_path_factory.mktemp("log") / "log.db"
    journal = Journal.at(path)
    journal.migrate()
    for n in range(1, 31):
        with journal.turn("s", NOW + timedelta(minutes=n)) as turn:
            report = e.SpliceReported(number=n, day="2026-04-14", made_at=NOW.isoformat(), place="wall A", kind="butt")
            turn.record([report, e.VerdictGiven(number=n, verdict="accept")], f"p{n % 3}", n)
    journal.close()
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


def change_a_byte(db, dice):
    seq, column = dice.randrange(1, 61), dice.choice(["body", "kind", "person", "hash", "at"])
    (text,) = db.execute(f"SELECT {column} FROM entries WHERE seq = ?", (seq,)).fetchone()
    at = dice.randrange(len(text))
    new = chr((ord(text[at]) ^ 1) or 1)
    changed = text[:at] + new + text[at + 1 :]
    db.execute(f"UPDATE entries SET {column} = ? WHERE seq = ?", (changed, seq))


def delete_some(db, dice):
    first = dice.randrange(1, 61)
    db.execute("DELETE FROM entries WHERE seq BETWEEN ? AND ?", (first, first + dice.randrange(4)))


def cut_the_end(db, dice):
    db.execute("DELETE FROM entries WHERE seq > ?", (dice.randrange(30, 60),))


def exchange_two(db, dice):
    a, b = dice.sample(range(1, 61), 2)
    for old, new in ((a, -1), (b, a), (-1, b)):
        db.execute("UPDATE entries SET seq = ? WHERE seq = ?", (new, old))


def put_one_in(db, dice):
    seq = dice.randrange(1, 61)
    db.execute("UPDATE entries SET seq = -seq - 1 WHERE seq >= ?", (seq,))
    db.execute("UPDATE entries SET seq = -seq WHERE seq < 0")
    db.execute("INSERT INTO entries SELECT site, ?, at, kind, body, person, cause, hash FROM entries LIMIT 1", (seq,))


@pytest.mark.parametrize("seed", range(MANY))
def test_every_change_is_found(original, tmp_path, seed):
    """One random change behind the program's back: the check finds it."""
    path = tmp_path / "log.db"
    shutil.copy(original, path)
    shutil.copy(original.with_suffix(".key"), path.with_suffix(".key"))
    dice = random.Random(seed)
    with sqlite3.connect(path) as db:
        for verb in ("update", "delete"):
            db.execute(f"DROP TRIGGER entries_no_{verb}")
        act = dice.choice([change_a_byte, change_a_byte, delete_some, cut_the_end, exchange_two, put_one_in])
        act(db, dice)
    journal = Journal.at(path)
    assert list(check(journal, "s")), act.__name__
    journal.close()


def test_a_head_signed_with_another_key_is_found(original, tmp_path):
    """Who rewrites the whole log and signs it anew has not our key."""
    path = tmp_path / "log.db"
    shutil.copy(original, path)
    path.with_suffix(".key").write_text("00" * 32)
    journal = Journal.at(path)
    assert list(check(journal, "s")) == ["the head of the log was not signed with this key"]
    journal.close()


def test_a_file_that_is_no_database_says_what_to_do(tmp_path):
    """A damaged file is an error of ours that names the remedy, not a traceback."""
    (tmp_path / "log.db").write_bytes(b"SQLite format 3\0" + b"x" * 4096)
    with pytest.raises(Damaged, match="sitebot restore"):
        Journal.at(tmp_path / "log.db").sites()
