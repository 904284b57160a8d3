"""Charts and maps of a site by name, as PNG. What is drawn stands in drawings/, what is counted in figures.py."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from sitebot.drawings import charts, charts_irons, maps
from sitebot.drawings.scene import Sheet
from sitebot.message import Language
from sitebot.reports import figures
from sitebot.reports.typeset import png
from sitebot.respond.desk import Desk
from sitebot.respond.heat import heat_band


def pace(desk: Desk, language: Language) -> Sheet | None:
    made = figures.days_made(desk.log.splices())
    finish = figures.finish_of(desk.log, desk.site)
    return charts.pace(made, figures.planned(desk.log), finish, language) if made else None


def first_pass(desk: Desk, language: Language) -> Sheet | None:
    weeks = figures.first_passes(desk.log.splices())
    return charts.first_pass(weeks, language) if weeks else None


def rejects(desk: Desk, language: Language) -> Sheet | None:
    days = figures.rejects(desk.log.splices())
    return charts.rejects(days, language) if days else None


def heats(desk: Desk, language: Language) -> Sheet | None:
    found = figures.readings(desk.log.iron_events(None), desk.log.splices(), desk.site.tz)
    return charts_irons.heats(found, *heat_band(desk), language) if found else None


def covers(desk: Desk, language: Language) -> Sheet | None:
    steps = figures.covers(desk.log.iron_events(None), desk.log.splices(), desk.site.tz)
    return charts_irons.covers(steps, desk.site.reminding.cover_welds, language) if steps else None


#: Name -> the chart, or None where the log has nothing to show in it.
CHARTS: Mapping[str, Callable[[Desk, Language], Sheet | None]] = {
    "pace": pace,
    "first-pass": first_pass,
    "rejects": rejects,
    "heats": heats,
    "covers": covers,
}


def place_maps(desk: Desk, place: str, language: Language) -> list[Sheet]:
    """The map of one place, on several sheets where it has very many splices."""
    return maps.place_maps(place, figures.marks(place, desk.log), language)


def all_pictures(desk: Desk, language: Language) -> Iterator[tuple[str, bytes]]:
    """Every chart that has something to show, and the map of every place."""
    for name, chart in CHARTS.items():
        if sheet := chart(desk, language):
            yield name, png(sheet)
    for i, place in enumerate(desk.log.plan(), start=1):
        for part, sheet in enumerate(place_maps(desk, place.name, language), start=1):
            yield f"map-{i}" if part == 1 else f"map-{i}-{part}", png(sheet)
