"""Setting channels up from the command line: the login of the Matrix account, a test text by the SMS line."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

matrix = typer.Typer(help="Set the Matrix account up.", no_args_is_help=True)
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


@sms.command()
def test(number: Annotated[str, typer.Argument(help="Your own phone, like +13035550161.")]) -> None:
    """Send a text by the line of the settings and say what came back."""
    asyncio.run(_try(number))


async def _try(number: str) -> None:
    from sitebot.errors import ChannelError, DataError
    from sitebot.machine import read_machine
    from sitebot.message import Incoming, Outgoing
    from sitebot.switchboard import openers

    machine = read_machine()
    opener = openers(machine, machine.journal()).get("sms")
    if opener is None:
        raise DataError("settings: sms: no line is set. Add [sms] to sitebot.toml; deploy/sms/README.md shows how.")
    rows: dict[str, str] = {}

    async def keep(heard: Sequence[Incoming], state: Mapping[str, str]) -> None:
        rows.update(state)
        for message in heard:
            typer.echo(f"came in from {message.sender}: {message.text}")

    channel: Any = opener({})
    listening = asyncio.create_task(channel.listen(keep))
    out = Outgoing(f"test-{secrets.token_hex(4)}", "sms", number, "sitebot: this is a test of the line.")
    try:
        typer.echo(
            f"handed to the line as {await channel.send(out)}; waiting up to {PATIENCE:.0f} s for its receipt ..."
        )
        async with asyncio.timeout(PATIENCE):
            await listening
    except TimeoutError:
        told = [value for key, value in rows.items() if key.startswith("sent/") and number in value]
        typer.echo(told[-1] if told else "No receipt came. The line took the text; look at the phone.")
    except ChannelError as error:
        typer.echo(f"It did not go out: {error}")
        raise typer.Exit(code=1) from error
    finally:
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)
