"""Photos in operation: backup and restore, the check, the sweeper, the settings, the commands."""

import os
import tarfile
import threading
from contextlib import closing

import pypdf
import pytest
from typer.testing import CliRunner

from sitebot import backup, cli
from sitebot.app import App
from sitebot.journal import DatabaseDown, Journal
from sitebot.journal.check import photo_faults
from sitebot.machine import Machine
from sitebot.message import Incoming
from sitebot.reports import export
from sitebot.reports.opened import read_from
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.running import Running
from sitebot.site import site_of
from sitebot.stage import SITE, Stage
from tests.reports.photography import jpeg
from tests.reports.test_photo_talk import FILE, START, photo, said


@pytest.fixture
def log(tmp_path):
    """A log in a file with one rejected splice and its photo; the path and the photo's hash."""
    path = tmp_path / "tower.db"
    stage = Stage(site_of(FILE, "test"), START, Journal.at(path))
    said(stage, "Bram", "1 butt at east wall")
    said(stage, "Iris", "1 rejected, pores", photo(gps=True))
    with stage.journal.log(SITE) as found:
        [kept] = found.photos()
    stage.journal.close()
    return path, kept.sha256


def command(*args):
    return CliRunner().invoke(cli.app, [str(a) for a in args])


def test_a_backup_brings_the_photos_back(log, tmp_path):
    """Restored elsewhere, every original is there byte for byte and the check finds nothing."""
    path, name = log
    with closing(Journal.at(path)) as journal:
        backup.back_up(journal, tmp_path / "b.tar.gz")
        original = journal.photos.read(name)
    again = tmp_path / "again"
    again.mkdir()
    assert backup.restore(tmp_path / "b.tar.gz", f"sqlite:///{again / 'tower.db'}") == []
    with closing(Journal.at(again / "tower.db")) as restored:
        assert restored.photos.read(name) == original == jpeg(gps=True)


def test_a_backup_without_a_photo_is_still_made_and_says_so(log, tmp_path):
    """A photo deleted from the disk does not stop the backup of the log; the restored copy names it."""
    path, name = log
    with closing(Journal.at(path)) as journal:
        journal.photos.original(name).unlink()
        backup.back_up(journal, tmp_path / "b.tar.gz")
    assert backup.restore(tmp_path / "b.tar.gz", f"sqlite:///{tmp_path / 'again.db'}") == [f"photo {name} is not there"]


def test_a_changed_photo_in_a_backup_is_refused(log, tmp_path):
    """What is not what its name says makes the backup a damaged one; nothing is restored."""
    path, name = log
    with closing(Journal.at(path)) as journal:
        backup.back_up(journal, tmp_path / "b.tar.gz")
    with tarfile.open(tmp_path / "b.tar.gz") as whole:
        whole.extractall(tmp_path / "open", filter="data")
    (tmp_path / "open" / "photos" / name).write_bytes(jpeg(seed=9, noise=True))
    with tarfile.open(tmp_path / "c.tar.gz", "w:gz") as changed:
        for file in (tmp_path / "open").rglob("*"):
            if file.is_file():
                changed.add(file, arcname=str(file.relative_to(tmp_path / "open")))
    with pytest.raises(backup.BackupError, match="not what was put in"):
        backup.restore(tmp_path / "c.tar.gz", f"sqlite:///{tmp_path / 'again.db'}")
    assert not (tmp_path / "again.db").exists()


def test_the_check_hashes_every_photo(log):
    """A whole log passes; a changed original is named and the command fails."""
    path, name = log
    assert command("check", "--db", path).exit_code == 0
    with closing(Journal.at(path)) as journal:
        journal.photos.original(name).write_bytes(b"something else")
        assert list(photo_faults(journal)) == [f"photo {name} is not what was put in"]
    failed = command("check", "--db", path)
    assert failed.exit_code == 1
    assert f"photo {name} is not what was put in" in failed.output


def test_the_folder_may_stand_elsewhere(log, tmp_path, monkeypatch):
    """A folder named in the settings is used by the assistant and by the commands."""
    path, name = log
    elsewhere = tmp_path / "pictures"
    path.with_suffix(".photos").rename(elsewhere)
    monkeypatch.setenv("SITEBOT_PHOTOS", str(elsewhere))
    monkeypatch.setenv("SITEBOT_DATABASE", f"sqlite:///{path}")
    with closing(Machine().journal()) as journal:
        assert journal.photos.read(name)
    assert command("check", "--db", path).exit_code == 0
    monkeypatch.delenv("SITEBOT_PHOTOS")
    assert command("check", "--db", path).exit_code == 1


def test_the_running_assistant_sweeps_orphans(log):
    """Once an hour what nothing names any more goes; what an entry or a waiting message names stays."""
    path, name = log
    with closing(Journal.at(path)) as journal:
        orphan = journal.photos.put(jpeg(seed=5, noise=True))
        waiting = Incoming("memory", "w", "+13035550112", "", START, media=(photo(seed=6, noise=True),))
        assert len(journal.keep(SITE, [waiting])) == 1
        for file in journal.photos.names():
            os.utime(journal.photos.original(file), (0, 0))
        running = Running(App(journal, Rulebook.load(rules_folder())), {}, SITE)
        running._look(START)
        left = set(journal.photos.names())
        assert name in left
        assert orphan not in left
        assert len(left) == 2


def test_a_full_disk_is_waited_for_and_nothing_is_acknowledged(log, monkeypatch):
    """A photo that cannot be written keeps its message with the channel, like a database that is down."""
    path, _ = log
    with closing(Journal.at(path)) as journal:
        monkeypatch.setattr(os, "fsync", lambda handle: (_ for _ in ()).throw(OSError(28, "No space left on device")))
        message = Incoming("memory", "x", "+13035550112", "look", START, media=(photo(seed=7, noise=True),))
        with pytest.raises(DatabaseDown, match="No space left"):
            journal.keep(SITE, [message])
        monkeypatch.undo()
        assert len(journal.keep(SITE, [message])) == 1


def test_the_same_photo_put_by_many_at_once_is_one_file(log):
    """Several processes may keep the same photo at the same moment."""
    path, _ = log
    with closing(Journal.at(path)) as journal:
        data = jpeg(400, 300, seed=8, noise=True)
        threads = [threading.Thread(target=journal.photos.put, args=(data,)) for _ in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sum(journal.photos.read(n) == data for n in journal.photos.names()) == 1


def test_the_export_names_the_photos(log):
    """The hash of each photo stands in the last column; who has the folder finds the original by it."""
    path, name = log
    with closing(Journal.at(path)) as journal, read_from(journal, SITE, START) as (desk, _):
        [row] = export.rows(desk.log, desk.site.tz)
    assert row["photos"] == name
    assert "photos" in export.COLUMNS


def test_the_command_shows_a_splices_photos(log):
    """Where the original lies, what it is and who sent it; the photo is a line of the story too."""
    path, name = log
    shown = command("splice", "1", "--photos", "--db", path).output
    assert str(path.with_suffix(".photos") / name[:2] / name) in shown
    assert "image/jpeg, 160 x 120" in shown
    assert "Iris" in shown
    story = command("splice", "1", "--history", "--db", path).output
    assert "Iris: photo " in story
    assert f"sha256={name}" in story


def test_the_command_writes_the_report_with_its_photos(log, tmp_path, monkeypatch):
    """The PDF of the day shows the reject with its picture and the whole hash of the original."""
    path, name = log
    monkeypatch.chdir(tmp_path)
    done = command("report", "2026-03-10", "--out", "day.pdf", "--db", path)
    assert done.exit_code == 0, done.output
    pages = pypdf.PdfReader(tmp_path / "day.pdf").pages
    assert name in "".join("".join(p.extract_text() for p in pages).split())
    assert sum(len(p.images) for p in pages) == 1
