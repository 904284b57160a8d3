"""The invented tank job: chat in a terminal, or a short day played and printed where there is none."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from rich.console import Console
from rich.markup import escape

from sitebot.channels.console import chat, show
from sitebot.journal.named import journal_named
from sitebot.site import SiteFile, read_site_file
from sitebot.stage import Stage

HERE = Path(__file__).parent
#: A Tuesday.
DAY = datetime(2026, 4, 14, 5, 30)  # noqa: DTZ001  local time of the demo site, its zone is added below


def run(console: Console) -> None:
    """The demo: a chat where somebody can type, else the short day."""
    site = read_site_file(HERE / "site.toml")
    stage = Stage(site, DAY.replace(tzinfo=site.tz).astimezone(UTC))
    if sys.stdin.isatty() and console.is_terminal:
        console.print(f"[bold]{escape(site.name)}[/bold], an invented job. Nothing is sent to anybody.")
        chat(stage, console)
        return
    console.print(f"{escape(site.name)}, an invented job, one short day.\n")
    for moment, who, text in day_lines(site):
        stage.run_to(moment)
        show(stage, console)
        if who:
            console.print(f"[dim]{moment.astimezone(site.tz):%H:%M}[/dim] [bold]{escape(who)}:[/bold] {escape(text)}")
            stage.say(who, text)
            show(stage, console)


def day_lines(site: SiteFile) -> Iterator[tuple[datetime, str, str]]:
    """Time, person and text of each line of the demo's day."""
    for line in (HERE / "day.txt").read_text(encoding="utf-8").splitlines():
        if hit := re.match(r"(\d\d):(\d\d)(?: (\w+) (.+))?$", line):
            local = DAY.replace(hour=int(hit[1]), minute=int(hit[2]), tzinfo=site.tz)
            yield local.astimezone(UTC), hit[3] or "", hit[4] or ""


def talk_on(db: str, name: str, console: Console, key: Path | None = None) -> None:
    """Chat on a log of one's own, with the clock as it is."""
    journal = journal_named(db, key)
    journal.migrate()
    now = datetime.now(UTC)
    with journal.turn(name, now) as turn:
        site = turn.log.site()
    chat(Stage(site, now, journal, name), console)
