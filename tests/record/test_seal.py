"""A seal given out: whoever has it can prove later that the log was not rewritten, even by who holds the key."""

import re

import pytest
from typer.testing import CliRunner

from sitebot.cli import app
from sitebot.demo import HERE
from sitebot.journal import Journal
from sitebot.reports.daily import daily
from sitebot.reports.opened import read_from
from sitebot.respond.seal import line
from sitebot.site import read_site_file
from sitebot.stage import Stage


@pytest.fixture
def worked(tmp_path, stage):
    def work(name, *texts):
        path = tmp_path / name / "log.db"
        path.parent.mkdir()
        made = Stage(read_site_file(HERE / "site.toml"), stage.now, Journal.at(path))
        for who, text in texts:
            made.say(who, text)
        return made, path

    return work


def sealed(stage):
    with read_from(stage.journal, stage.name, stage.now) as (desk, head):
        seal = line(desk.log).values["seal"]
        printed = daily(desk, desk.day, head).seal
    assert (printed.entries, printed.hash[:24]) == (int(seal.split("-")[0]), seal.split("-")[1])
    return seal, printed.hash


def checked(path, seal):
    result = CliRunner().invoke(app, ["check", "--db", str(path), "--seal", seal])
    return result.exit_code, " ".join(result.output.split())


def test_a_later_log_still_holds_an_earlier_seal(worked):
    """The texted form, the printed hash and its beginning; capitals and blanks do not matter."""
    stage, path = worked("a", ("Tobin", "2 butts ring wall A"))
    seal, full = sealed(stage)
    stage.say("Ines", "1-2 ok")
    stage.journal.close()
    for given in (seal, full, full[:16], f" {seal.upper()} "):
        code, output = checked(path, given)
        assert (code, "the seal holds" in output) == (0, True), output


def test_a_rewritten_log_does_not_hold_it(worked):
    """Another log with its own chain and its own key is whole in itself; only the seal tells."""
    stage, _ = worked("a", ("Tobin", "2 butts ring wall A"))
    seal, _ = sealed(stage)
    forged, path = worked("b", ("Tobin", "2 tees ring wall A"), ("Ines", "1-2 ok"))
    forged.journal.close()
    assert checked(path, "")[0] == 0
    code, output = checked(path, seal)
    assert code == 1
    assert "is not the one that was sealed" in output


def test_a_log_cut_short_does_not_hold_it(worked):
    """Fewer entries than were sealed are told as such."""
    stage, _ = worked("a", ("Tobin", "2 butts ring wall A"), ("Ines", "1-2 ok"))
    seal, _ = sealed(stage)
    short, path = worked("b", ("Tobin", "2 butts ring wall A"))
    short.journal.close()
    assert "the log has only" in checked(path, seal)[1]


@pytest.mark.parametrize("seal", ["12", "12-abc", "x-0123456789abcdef01234567", "1-" + "%" * 24])
def test_what_is_no_seal_is_told(worked, seal):
    """A piece of one proves nothing."""
    stage, path = worked("a")
    stage.journal.close()
    code, output = checked(path, seal)
    assert (code, "no seal" in output) == (1, True)


def test_the_seal_is_sent_on_request(does, stage):
    """Count and hash, as the evening's brief has them."""
    reply = does("Garrick", "ask_report", of="seal")
    assert re.search(r"Seal of the log: \d+-[0-9a-f]{24}\.", reply)
