"""The commands. Each is a few lines that call the part that does the work."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.progress import track

from sitebot import accounts, operation
from sitebot.errors import LoggedOut, SitebotError
from sitebot.reports import commands
from sitebot.reports.commands import DB, Database, Key, PhotoFolder, SiteName

app = typer.Typer(
    name="sitebot",
    help="A chat assistant for crews that heat-weld PVC waterstop: answers, reminders and the splice log.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
site_app = typer.Typer(help="Load and look at a site file.", no_args_is_help=True)
rules_app = typer.Typer(help="Check the rules of the trade.", no_args_is_help=True)
app.add_typer(site_app, name="site")
app.add_typer(rules_app, name="rules")
app.add_typer(accounts.matrix, name="matrix")
app.add_typer(accounts.sms, name="sms")
app.add_typer(accounts.people, name="people")
for command in (
    operation.run,
    operation.doctor,
    operation.backup,
    operation.restore,
    commands.report,
    commands.export,
    commands.splice,
):
    app.command()(command)

#: The account of the last channel is gone: somebody has to log in again (EX_NOPERM of sysexits.h).
LOGGED_OUT = 77


@app.command()
def read(
    text: Annotated[str, typer.Argument(help="One text to read; without it, JSON lines come in and go out.")] = "",
    who: Annotated[str, typer.Option(help="crew, lead, inspector, superintendent or stranger.")] = "crew",
    explain: Annotated[bool, typer.Option("--explain", help="Show how the text was read.")] = False,
) -> None:
    """Show what a text means to the assistant and what it would answer. Nothing is recorded."""
    from sitebot.readout import read_lines

    if explain:
        _explain(text, who)
    lines = [json.dumps({"id": "1", "who": who, "text": text})] if text else sys.stdin
    for row in read_lines(lines):
        print(json.dumps(row, ensure_ascii=False), flush=not text)


def _explain(text: str, who: str) -> None:
    from datetime import UTC, datetime

    from rich.table import Table

    from sitebot.readout import context_of
    from sitebot.understand import explain

    table = Table("step", "found")
    for step, found in explain(text, context_of(who, datetime.now(UTC))):
        table.add_row(step, found)
    Console().print(table)


@app.command()
def play(
    script: Annotated[Path, typer.Argument(help="A scripted day, one JSON line a message.")],
) -> None:
    """Play a scripted day in an empty log and print what was said, sent and recorded after each line."""
    from sitebot.play import play as play_script

    for row in play_script(script):
        print(json.dumps(row, ensure_ascii=False))


@app.command()
def talk(db: Database = DB, site: SiteName = "site", key: Key = None) -> None:
    """Chat with the assistant in this terminal as any person of the roster."""
    from sitebot.demo import talk_on

    if "://" not in db and not Path(db).exists():
        _stop(f"{db}: no such log. Load a site first: sitebot site load FILE --db {db}")
    talk_on(db, site, Console(), key)


@app.command()
def demo(
    month: Annotated[Path | None, typer.Option("--month", help="A folder for the charts and maps of a month.")] = None,
) -> None:
    """Try it on an invented tank job: chat in a terminal, or watch a short day where there is none."""
    if month:
        from sitebot.reports.month import write

        with Console(stderr=True).status("drawing the month ..."):
            written = write(month)
        print(*written, sep="\n")
        return
    from sitebot.demo import run

    run(Console())


@app.command()
def check(
    db: Database = DB,
    photos: PhotoFolder = None,
    seal: Annotated[str, typer.Option("--seal", help="A seal given out earlier: does the log still hold it?")] = "",
    key: Key = None,
) -> None:
    """Walk the log's chain, rebuild what is derived from it, compare, and hash every photo. Says what is wrong."""
    from sitebot.journal.check import check as check_journal
    from sitebot.journal.check import photo_faults, seal_fault
    from sitebot.journal.named import journal_named
    from sitebot.photos import Folder

    journal = journal_named(db, key)
    if photos:
        journal.photos = Folder(photos)
    faults = 0
    for site in journal.sites():
        for fault in check_journal(journal, site, partial(_tracked, "checking")):
            faults += 1
            print(f"{site}: {fault}")
    broken = {site: seal_fault(journal, site, seal) for site in journal.sites()} if seal else {}
    if broken and all(broken.values()):
        faults += 1
        print(*(f"{site}: the seal does not hold: {fault}" for site, fault in broken.items()), sep="\n")
    for fault in photo_faults(journal, partial(_tracked, "photos")):
        faults += 1
        print(fault)
    holds = [site for site, fault in broken.items() if not fault]
    if holds and not faults:
        print(f"{', '.join(holds)}: the seal holds; all up to it is as it was when it was given out.")
    print("The log is whole." if not faults else f"{faults} faults.")
    raise typer.Exit(code=1 if faults else 0)


@site_app.command("load")
def site_load(
    file: Annotated[Path, typer.Argument(help="The site file (TOML).")],
    db: Database = DB,
    site: SiteName = "site",
    key: Key = None,
) -> None:
    """Load a site file: people, places, shift, limits. What changed becomes entries in the log."""
    from datetime import UTC, datetime

    from sitebot.journal.named import journal_named
    from sitebot.site import read_site_file
    from sitebot.stage import load_site

    loaded = read_site_file(file)
    journal = journal_named(db, key, is_new=True)
    journal.migrate()
    with journal.turn(site, datetime.now(UTC)) as turn:
        count = load_site(turn, loaded)
    print(f"{loaded.name}: {count} entries written." if count else f"{loaded.name}: nothing changed.")


@site_app.command("plan")
def site_plan(
    file: Annotated[Path | None, typer.Argument(help="CSV: place,kind,count. Without it: the plan now.")] = None,
    db: Database = DB,
    site: SiteName = "site",
    key: Key = None,
) -> None:
    """Load the plan from a table, or show it against what was made. Places the table does not name stay as they are."""
    from datetime import UTC, datetime

    from sitebot.journal.named import journal_named
    from sitebot.plan import planned, read_plan

    plan = read_plan(file) if file else {}
    journal = journal_named(db, key, is_new=True)
    journal.migrate()
    with journal.turn(site, datetime.now(UTC)) as turn:
        entries = planned(plan, {p.name: p.kinds for p in turn.log.plan()})
        turn.record(entries)
        if file:
            print(f"{file}: {len(entries)} places changed." if entries else f"{file}: nothing changed.")
        for place in turn.log.plan():
            found = turn.log.place(place.name)
            told = ", ".join(f"{k} {found.accepted.get(k, 0)} of {n} accepted" for k, n in place.kinds.items())
            print(f"{place.name}: {told or 'no plan'}; {found.made} made")


@rules_app.command("check")
def rules_check(
    folder: Annotated[
        Path | None, typer.Argument(help="A folder of rules; without it, the ones that came along.")
    ] = None,
) -> None:
    """Check every rule file and run its own cases."""
    from sitebot.rulebook import check as check_rules
    from sitebot.rulebook import rules_folder

    faults = check_rules(folder or rules_folder())
    for fault in faults:
        print(fault)
    print("All rules hold." if not faults else f"{len(faults)} faults.")
    raise typer.Exit(code=1 if faults else 0)


def _tracked(what: str, steps: Iterable[Any], count: int) -> Iterable[Any]:
    return track(steps, description=what, total=count, transient=True)


def _stop(text: str) -> None:
    print(text, file=sys.stderr)
    raise typer.Exit(code=2)


def main() -> None:
    """The entry point: errors of ours end in their own words, without a traceback."""
    try:
        app()
    except LoggedOut as error:
        # No start mends this: the unit in deploy/ knows the status and leaves it at that.
        print(error, file=sys.stderr)
        sys.exit(LOGGED_OUT)
    except SitebotError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        sys.exit(1)
