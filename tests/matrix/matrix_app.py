"""The real assistant on Matrix: ``python -m tests.matrix.matrix_app STORE DATABASE``. No test lives here."""

from __future__ import annotations

import asyncio
import pathlib
import sys

from sitebot.app import App
from sitebot.channels.matrix import open_channel
from sitebot.journal import Journal, Limits
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.running import Running


def main(store: str, database: str) -> None:
    journal = Journal.at(pathlib.Path(database))
    journal.migrate()
    journal.limits = Limits(person_hour=10**6, stranger_hour=10**6, site_minute=10**6)
    app = App(journal, Rulebook.load(rules_folder()))
    opener = {"matrix": lambda state: open_channel(pathlib.Path(store), state, lambda who: bool(journal.sites_of(who)))}
    asyncio.run(Running(app, opener, "site").run())


if __name__ == "__main__":
    main(*sys.argv[1:3])
