"""What each entry does to the tables derived from it. One function an entry; nothing else writes those tables.

A projection sees only the entry and the tables: never a clock, never the text, so that a replay gives the same tables.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import sqlalchemy as sa

from sitebot import entries as e
from sitebot.journal.projections import day, people, photos, places, splices
from sitebot.journal.projections.row import Row, nothing

__all__ = ["PROJECTED", "Row", "project"]

PROJECTED: Mapping[type[e.Entry], Callable[[sa.Connection, Row, Any], None]] = {
    e.SiteSet: people.site_set,
    e.PersonJoined: people.person_joined,
    e.AddressAsked: nothing,
    e.AddressConfirmed: nothing,
    e.AddressRefused: nothing,
    e.PersonErased: people.person_erased,
    e.PersonLeft: people.person_left,
    e.LanguageChosen: people.language_chosen,
    e.TextsStopped: people.texts_stopped,
    e.ReachChanged: people.reach_changed,
    e.PlacePlanned: people.place_planned,
    e.NameTaught: people.name_taught,
    e.SpliceReported: splices.splice_reported,
    e.SpliceCorrected: splices.splice_corrected,
    e.SpliceVoided: splices.splice_voided,
    e.SpliceRenumbered: splices.splice_renumbered,
    e.VerdictGiven: splices.verdict_given,
    e.VerdictRelayed: splices.verdict_relayed,
    e.FindingNoted: splices.finding_noted,
    e.CutOut: splices.cut_out,
    e.WishKept: splices.wish_kept,
    e.PhotoKept: photos.photo_kept,
    e.PhotoPlaced: photos.photo_placed,
    e.DamageReported: places.damage_reported,
    e.PourReleased: places.pour_released,
    e.ReleaseRelayed: places.release_relayed,
    e.PourPlanned: places.pour_planned,
    e.SampleReported: day.sample_reported,
    e.WeatherTold: day.weather_told,
    e.IronReported: day.iron_reported,
    e.DayPlanned: day.day_planned,
    e.DayWished: day.day_wished,
    e.CrewSet: day.crew_set,
    e.Acknowledged: day.acknowledged,
    e.Reminded: day.reminded,
    e.ActConfirmed: nothing,
    e.CodeMissed: nothing,
}


def project(tx: sa.Connection, row: Row, entry: e.Entry) -> None:
    """Bring the derived tables up to date with one entry."""
    PROJECTED[type(entry)](tx, row, entry)
