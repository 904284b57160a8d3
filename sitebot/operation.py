"""The commands of operation: run, backup, restore, doctor. Each calls the part that does the work."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from sitebot.errors import DataError

app = typer.Typer()

Key = Annotated[Path | None, typer.Option("--key", help="The file with the key that signs the log.")]


@app.command()
def run(
    worker: Annotated[str, typer.Option(help="A name for this process; by default host and number.")] = "",
) -> None:
    """Run the assistant: channels, answers, reminders. Settings come from sitebot.toml and SITEBOT_... variables."""
    import asyncio
    import contextlib

    from sitebot.app import App
    from sitebot.logs import set_up
    from sitebot.machine import read_machine
    from sitebot.metrics import Metrics, serve
    from sitebot.rulebook import Rulebook, rules_folder
    from sitebot.running import Running, stopped_by_signals
    from sitebot.switchboard import openers

    os.umask(0o077)
    machine = read_machine()
    set_up(machine.log_level)
    journal = machine.journal()
    journal.migrate()
    channels = openers(machine, journal)
    if not channels:
        raise DataError("settings: no channel is set. Add [sms] or [matrix] to sitebot.toml; sitebot doctor says more.")
    running = Running(App(journal, Rulebook.load(rules_folder())), channels, machine.site, Metrics(), worker)
    server = serve(running.metrics, machine.metrics_host, machine.metrics_port) if machine.metrics_port else None
    try:
        with contextlib.suppress(asyncio.CancelledError):
            asyncio.run(stopped_by_signals(running.run()))
    finally:
        if server:
            server.shutdown()
        journal.close()


@app.command()
def backup(file: Annotated[Path, typer.Argument(help="Where the backup goes.")]) -> None:
    """Back the log up into one file, while the assistant runs. It holds names and the key: keep it safe."""
    from contextlib import closing

    from sitebot.backup import back_up
    from sitebot.machine import read_machine
    from sitebot.switchboard import matrix_store

    machine = read_machine()
    with closing(machine.journal()) as journal:
        count = back_up(journal, file, matrix_store(machine))
    print(f"{file}: {count} entries.")


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(help="A backup made by sitebot backup.")],
    database: Annotated[str, typer.Option("--to", help="Where to; by default the database of the settings.")] = "",
    key: Key = None,
) -> None:
    """Restore a backup into an empty place and check it."""
    from sitebot.backup import restore as restore_backup
    from sitebot.machine import read_machine
    from sitebot.switchboard import matrix_store

    machine = read_machine()
    named = (None, None, None) if database else (machine.key, machine.photos, matrix_store(machine))
    faults = restore_backup(file, database or machine.database, key or named[0], *named[1:])
    for fault in faults:
        print(fault)
    print("Restored; the log is whole." if not faults else f"Restored with {len(faults)} faults.")
    print("A backup knows nothing of later erasures: who was erased since is in it again. Erase him anew:")
    print("  sitebot people erase NAME")
    raise typer.Exit(code=1 if faults else 0)


@app.command()
def doctor() -> None:
    """Look whether database, key, channels, clock, disk and file modes are in order; say what to do where not."""
    from sitebot.doctor import examine
    from sitebot.machine import read_machine

    machine = read_machine()
    settings = Path(os.environ.get("SITEBOT_SETTINGS", "sitebot.toml"))
    channels = {name: set_ for name, set_ in (("sms", machine.sms), ("matrix", machine.matrix)) if set_ is not None}
    faults = 0
    for finding in examine(machine.database, machine.key, channels, (settings,)):
        faults += bool(finding.fault)
        print(f"{'no ' if finding.fault else 'ok '} {finding.what}{': ' if finding.fault else ''}{finding.fault}")
    raise typer.Exit(code=1 if faults else 0)
