"""A lost login ends the program in plain words, with a status by which it is not started again for nothing."""

from __future__ import annotations

import asyncio
import configparser
import pathlib

import pytest

from sitebot import cli
from sitebot.app import App
from sitebot.errors import LoggedOut
from sitebot.journal import Journal
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.running import Running

DEPLOY = pathlib.Path(__file__).parents[2] / "deploy"


class Gone:
    """A channel whose account is gone, when it listens or when it sends."""

    name = "matrix"

    async def listen(self, keep):
        raise LoggedOut("The homeserver no longer knows our login. Run: sitebot matrix login")

    async def send(self, out):
        raise LoggedOut("gone")


async def test_a_lost_login_ends_the_assistant():
    """What comes out is the error itself, whatever groups of tasks lie between."""
    journal = Journal("sqlite://")
    journal.migrate()
    app = App(journal, Rulebook.load(rules_folder()))
    with pytest.raises(LoggedOut, match="sitebot matrix login"):
        async with asyncio.timeout(20):
            await Running(app, {"matrix": lambda state: Gone()}, "site").run()


def test_the_program_ends_with_a_status_of_its_own(monkeypatch, capsys):
    """77, in plain words on the error output."""
    monkeypatch.setattr(cli, "app", lambda: (_ for _ in ()).throw(LoggedOut("Run: sitebot matrix login")))
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert (ended.value.code, capsys.readouterr().err) == (77, "Run: sitebot matrix login\n")


@pytest.mark.parametrize("unit", ["sitebot.service", "sitebot@.service"])
def test_the_system_does_not_start_it_again(unit):
    """The unit knows the status; anything else is started anew."""
    parsed = configparser.ConfigParser(strict=False, interpolation=None)
    parsed.optionxform = str
    parsed.read(DEPLOY / unit)
    assert (parsed["Service"]["RestartPreventExitStatus"], parsed["Service"]["Restart"]) == ("77", "always")
