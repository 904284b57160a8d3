"""Commands take a log by its path and by its address, on a file and on a server."""

import pytest
from typer.testing import CliRunner

from sitebot.cli import app
from sitebot.demo import HERE


@pytest.fixture
def call(database, tmp_path):
    """A command on the log, as at a terminal: its exit code and what it printed."""
    where = ["--db", database, "--key", str(tmp_path / "own.key")]

    def run(*words):
        done = CliRunner().invoke(app, [*words, *where])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        return done.exit_code, done.output

    return run


def test_a_log_by_its_address(call, tmp_path):
    """A site is loaded, checked, listed, reported and exported by the address of its log."""
    code, said = call("site", "load", str(HERE / "site.toml"))
    assert (code, "entries written" in said) == (0, True)
    code, said = call("check")
    assert code == 0
    assert "The log is whole." in said
    code, said = call("people", "list")
    assert "Garrick" in said
    code, said = call("export", "--out", "-")
    assert (code, "number" in said) == (0, True)
    code, _ = call("report", "--out", str(tmp_path / "day.pdf"))
    assert code == 0
    assert (tmp_path / "day.pdf").stat().st_size > 1000


def test_a_server_without_its_key_is_refused():
    """On a server nobody makes a key by the way: the command says what to name."""
    done = CliRunner().invoke(app, ["check", "--db", "postgresql+psycopg://nobody@127.0.0.1:1/none"])
    assert done.exit_code != 0
    assert "--key" in str(done.exception)


def test_a_file_that_is_not_there_is_not_made(tmp_path):
    """A name mistyped makes no empty log."""
    done = CliRunner().invoke(app, ["check", "--db", str(tmp_path / "none.db")])
    assert done.exit_code != 0
    assert list(tmp_path.iterdir()) == []
