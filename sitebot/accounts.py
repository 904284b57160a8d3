"""From the command line: the login of the Matrix account, a test text by the SMS line, people listed and erased."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sitebot.errors import DataError
from sitebot.reports.commands import DB, Database, Key, SiteName

if TYPE_CHECKING:
    from sitebot.journal import Journal

matrix = typer.Typer(help="Set the Matrix account up.", no_args_is_help=True)
people = typer.Typer(help="List and erase people.", no_args_is_help=True)
sms = typer.Typer(help="Try the SMS line.", no_args_is_help=True)

#: How long a receipt is waited for [s].
PATIENCE = 60.0


class Terminal:
    """Questions and answers in the terminal; secrets are asked for unseen and never taken from the command line."""

    def ask(self, question: str) -> str:
        return str(typer.prompt(question.rstrip(":")))

    def ask_secret(self, question: str) -> str:
        return str(typer.prompt(question.rstrip(":"), hide_input=True))

    def tell(self, line: str) -> None:
        typer.echo(line)


@matrix.command()
def login(
    store: Annotated[Path, typer.Option(help="The folder for the account's keys.")] = Path("matrix-store"),
    reset_identity: Annotated[bool, typer.Option("--reset-identity", help="Make new signing keys.")] = False,
) -> None:
    """Log the assistant in on its homeserver: asks for all it needs, says what comes next."""
    from sitebot.channels.matrix.login import log_in

    asyncio.run(log_in(Terminal(), store, reset_identity=reset_identity))


@sms.command("test")
def send_test(
    number: Annotated[str, typer.Argument(help="Your own phone, like +13035550161.")],
    wait: Annotated[float, typer.Option(help="How long a receipt is waited for [s].")] = PATIENCE,
) -> None:
    """Send a text by the line of the settings and say what came back."""
    asyncio.run(_try(number, wait))


async def _try(number: str, wait: float) -> None:
    from sitebot.channels.sms.line import Step
    from sitebot.channels.sms.trial import try_line
    from sitebot.errors import ChannelError, DataError
    from sitebot.machine import read_machine
    from sitebot.message import Outgoing
    from sitebot.switchboard import openers

    machine = read_machine()
    opener = openers(machine, machine.journal()).get("sms")
    if opener is None:
        raise DataError("settings: sms: no line is set. Add [sms] to sitebot.toml; deploy/sms/README.md shows how.")
    channel: Any = opener({})
    out = Outgoing(f"test-{secrets.token_hex(4)}", "sms", number, "sitebot: this is a test of the line.")
    try:
        step = await try_line(channel, out, typer.echo, wait)
    except ChannelError as error:
        typer.echo(f"It did not go out: {error}")
        raise typer.Exit(code=1) from error
    raise typer.Exit(code=0 if step in (Step.SENT, Step.DELIVERED) else 1)


@people.command("list")
def list_people(db: Database = DB, site: SiteName = "site", key: Key = None) -> None:
    """Who is on the list, with id, role and addresses."""
    with _opened(db, key) as journal, journal.log(site) as log:
        for person in log.people():
            typer.echo(f"{person.id:<5} {person.name:<24} {person.role:<15} {', '.join(person.addresses)}")


@people.command()
def erase(
    name: Annotated[str, typer.Argument(help="The name, or the id where the name is gone already.")],
    db: Database = DB,
    site: SiteName = "site",
    key: Key = None,
) -> None:
    """Erase name, addresses and texts of a person. What was done stays in the log under the id; the log stays whole."""
    from sitebot.entries import PersonErased

    with _opened(db, key) as journal:
        with journal.turn(site, datetime.now(UTC)) as turn:
            ident = turn.log.names().get(name) or (name if name in turn.log.names().values() else None)
            if ident is None:
                raise DataError(f"{name!r}: nobody of that name in {db}. sitebot people list shows who is there.")
            turn.record([PersonErased(person=ident)])
        journal.compact()
    typer.echo(
        f"Erased: {name}, now {ident}. A running SMS line takes the number out of the daemon's tables within a minute. "
        "Not reached: the site file, backups made before (erase them, or erase again after restoring one), photos and "
        "what they show, the Matrix account's store, and the memory of a sitebot run until it is restarted."
    )


@contextmanager
def _opened(db: str, key: Path | None) -> Iterator[Journal]:
    from sitebot.journal.named import journal_named

    journal = journal_named(db, key)
    try:
        journal.migrate()
        yield journal
    finally:
        journal.close()
