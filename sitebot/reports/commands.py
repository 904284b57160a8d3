"""The commands that read a log and write files: report, export, splice. They change nothing in the log."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from sitebot.errors import DataError
from sitebot.journal.named import journal_named
from sitebot.message import Language
from sitebot.photos import Folder
from sitebot.respond.desk import Desk

Database = Annotated[str, typer.Option("--db", help="The file that holds the log, or a server's address.")]
Key = Annotated[
    Path | None, typer.Option("--key", envvar="SITEBOT_KEY", help="The key's file; by default beside the log's.")
]
SiteName = Annotated[str, typer.Option("--site", help="The short name of the site in the log.")]
InLanguage = Annotated[str, typer.Option("--lang", help="en or es; without it, the site's language.")]
Out = Annotated[Path | None, typer.Option("--out", "-o", help="Where to write; without it, here, under its own name.")]
PhotoFolder = Annotated[
    Path | None,
    typer.Option("--photos-in", envvar="SITEBOT_PHOTOS", help="The folder of photos; by default beside the log."),
]
DB = "sitebot.db"


@contextmanager
def opened(
    db: str, site: str, photos: Path | None = None, key: Path | None = None
) -> Iterator[tuple[Desk, tuple[int, str], Folder | None]]:
    """The desk and the head of a log as it stands now."""
    from sitebot.reports.opened import read_from

    journal = journal_named(db, key)
    if photos:
        journal.photos = Folder(photos)
    try:
        journal.migrate()
        if site not in journal.sites():
            known = ", ".join(journal.sites()) or "none"
            raise DataError(f"{site!r}: no such site in {db}. It holds: {known}. Name one with --site.")
        with read_from(journal, site, datetime.now(UTC)) as (desk, head):
            yield desk, head, journal.photos
    finally:
        journal.close()


def report(
    day: Annotated[str, typer.Argument(help="The shift day, like 2026-03-10; without it, today's.")] = "",
    place: Annotated[str, typer.Option("--place", help="The pour dossier of a place instead of a day.")] = "",
    charts: Annotated[Path | None, typer.Option("--charts", help="A folder for all charts and maps as PNG.")] = None,
    out: Out = None,
    photos_in: PhotoFolder = None,
    lang: InLanguage = "",
    db: Database = DB,
    key: Key = None,
    site: SiteName = "site",
) -> None:
    """Write the report of a day, the pour dossier of a place, or all charts and maps."""
    with opened(db, site, photos_in, key) as (desk, head, folder):
        language = _language(lang, desk)
        if charts:
            _write_charts(charts, desk, language)
        elif place:
            _write({"dossier": place}, desk, head, language, out, folder)
        else:
            _write({"report": _date(day) if day else desk.day}, desk, head, language, out, folder)


def export(
    form: Annotated[str, typer.Option("--format", "-f", help="csv, json or xlsx.")] = "csv",
    first: Annotated[str, typer.Option("--from", help="First shift day, like 2026-03-10.")] = "",
    last: Annotated[str, typer.Option("--to", help="Last shift day.")] = "",
    place: Annotated[str, typer.Option("--place", help="Only splices of this place.")] = "",
    out: Out = None,
    db: Database = DB,
    key: Key = None,
    site: SiteName = "site",
) -> None:
    """Write the splice log as a table for spreadsheets and databases. Column names never change."""
    first, last = (_date(d) if d else "" for d in (first, last))
    with opened(db, site, key=key) as (desk, head, _):
        _write({"log": form, "first": first, "last": last, "place": place}, desk, head, desk.site.language, out)


def splice(
    number: Annotated[int, typer.Argument(help="The number of the splice.")],
    history: Annotated[
        bool, typer.Option("--history", help="Every entry about it, with the words it came in.")
    ] = False,
    photos: Annotated[bool, typer.Option("--photos", help="Where its photos lie, and what they are.")] = False,
    photos_in: PhotoFolder = None,
    lang: InLanguage = "",
    db: Database = DB,
    key: Key = None,
    site: SiteName = "site",
) -> None:
    """Show one splice as the log holds it, its photos, and its whole story."""
    from sitebot.reports.story import pictures, story

    with opened(db, site, photos_in, key) as (desk, _, folder):
        language = _language(lang, desk)
        for line in story(number, desk, language, with_history=history):
            typer.echo(line)
        for line in pictures(number, desk, language, folder) if photos and folder else ():
            typer.echo(line)


def _write(
    descriptor: Mapping[str, Any],
    desk: Desk,
    head: tuple[int, str],
    language: Language,
    out: Path | None,
    photos: Folder | None = None,
) -> None:
    """To the file named, or to standard output for "-"."""
    from rich.console import Console
    from rich.progress import track

    from sitebot.reports.attachment import attachment

    console = Console(stderr=True)

    def steps(names: Sequence[str]) -> Iterable[str]:
        return track(names, description="photos", console=console, transient=True)

    media = attachment(descriptor, desk, head, language, photos, steps)
    if str(out) == "-":
        sys.stdout.buffer.write(media.data)
        return
    path = out or Path(media.name)
    _save(path, media.data)
    typer.echo(path)


def _write_charts(folder: Path, desk: Desk, language: Language) -> None:
    from sitebot.reports.pictures import all_pictures

    for name, data in all_pictures(desk, language):
        _save(folder / f"{name}.png", data)
        typer.echo(folder / f"{name}.png")


def _save(path: Path, data: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as error:
        raise DataError(f"{path}: cannot be written ({error.strerror}). Name another file with --out.") from error


def _language(text: str, desk: Desk) -> Language:
    if text not in ("", "en", "es"):
        raise DataError(f"--lang {text}: no such language. Choose en or es.")
    return "es" if text == "es" else "en" if text == "en" else desk.site.language


def _date(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise DataError(f"{text!r} is no date. Write it as 2026-03-10.") from error
