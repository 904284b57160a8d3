"""The terminal as a channel: type as any person of the roster, see what each of them gets, move the clock."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from rich.console import Console
from rich.markup import escape

if TYPE_CHECKING:
    from sitebot.stage import Stage

HELP = """Type as the person shown. Commands: /as NAME  /clock 15:35  /wait 20 (minutes)  /people  /quit"""


def chat(stage: Stage, console: Console) -> None:
    """Talk until /quit or the end of input."""
    console.print(HELP)
    people = [p.name for p in stage.people()]
    if not people:
        console.print("Nobody is on the roster yet: load a site file first (sitebot site load FILE).")
        return
    who = people[0]
    show(stage, console)
    while True:
        try:
            line = console.input(f"[bold]{_clock(stage)} {escape(who)}>[/bold] ").strip()
        except (EOFError, KeyboardInterrupt):
            return
        if line == "/quit":
            return
        if line.startswith("/"):
            who = _command(line, who, people, stage, console)
        elif line:
            stage.say(who, line)
        show(stage, console)


def _command(line: str, who: str, people: list[str], stage: Stage, console: Console) -> str:
    name, _, rest = line[1:].partition(" ")
    match name:
        case "as":
            hit = [p for p in people if p.casefold().startswith(rest.casefold())]
            console.print(f"You are {hit[0]}." if hit else f"Nobody is called {rest}: {', '.join(people)}.")
            return hit[0] if hit else who
        case "people":
            console.print(", ".join(f"{p.name} ({p.role})" for p in stage.people()))
        case "clock" | "wait":
            moment = _moment(name, rest, stage)
            if moment is None:
                console.print("Say /clock 15:35 or /wait 20.")
            else:
                stage.run_to(moment)
        case _:
            console.print(HELP)
    return who


def _moment(name: str, rest: str, stage: Stage) -> datetime | None:
    try:
        if name == "wait":
            return stage.now + timedelta(minutes=int(rest))
        hours, minutes = (int(x) for x in rest.split(":"))
        local = stage.now.astimezone(stage.site.tz)
        moment = local.replace(hour=hours, minute=minutes, second=0, microsecond=0)
    except ValueError:
        return None
    return (moment if moment > local else moment + timedelta(days=1)).astimezone(UTC)


def _clock(stage: Stage) -> str:
    return stage.now.astimezone(stage.site.tz).strftime("%a %H:%M")


def show(stage: Stage, console: Console) -> None:
    """Print what went out, to whom."""
    for at, out in stage.sent():
        clock = at.astimezone(stage.site.tz).strftime("%H:%M")
        colour = {"reply": "green", "notice": "cyan", "reminder": "yellow", "code": "magenta"}[out.kind]
        console.print(
            f"[dim]{clock}[/dim] [{colour}]to {escape(stage.name_of(out.address))}:[/{colour}] {escape(out.text)}"
        )
