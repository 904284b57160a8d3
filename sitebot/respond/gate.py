"""The samples gate: does a weld rest on a passed sample, and what asks for a new one (site settings ``samples``).

Nothing is locked: a weld without its sample is recorded and marked. Qualification of a profile may hold a pour.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from sitebot.message import Say
from sitebot.record import Place, Sample
from sitebot.respond.desk import Desk
from sitebot.respond.shifts import EVERYBODY, crew_of

#: Told of an iron, after which it has to heat again.
WENT_COLD = ("power_cut", "unplugged", "fault")


def has_sample(day: str, iron: str | None, desk: Desk) -> bool:
    """Did the last sample of that day pass, of this iron where it is named and samples name irons?"""
    last = last_sample(day, iron, desk)
    return not desk.log.is_kept or (last is not None and last.verdict == "pass")


def last_sample(day: str, iron: str | None, desk: Desk) -> Sample | None:
    """The sample a weld with that iron would rest on; of the own crew where a site has several and no iron is named."""
    samples = [s for s in desk.log.samples(day) if iron is None or s.iron in (None, iron, "all")]
    crew = crew_of(desk.me, desk.site)
    if iron is None and crew is not EVERYBODY:
        samples = [s for s in samples if {s.by, *s.welders} & set(crew.people)] or samples
    return samples[-1] if samples else None


def missing(day: str, iron: str | None, welders: Sequence[str], at: datetime, desk: Desk) -> str | None:
    """Why a weld made then rests on no sample: none, failed, cold, cover, idle, people; None where it does."""
    if not desk.log.is_kept:
        return None
    sample = last_sample(day, iron, desk)
    if sample is None or sample.verdict != "pass":
        return "none" if sample is None else "failed"
    return _since(sample, day, iron, welders, at, desk)


def _since(sample: Sample, day: str, iron: str | None, welders: Sequence[str], at: datetime, desk: Desk) -> str | None:
    """What has happened since a passed sample that asks for another."""
    wanted = desk.site.samples
    events = [
        e.event
        for e in desk.log.iron_events(day)
        if sample.at < e.at <= at and (iron is None or e.iron in (None, iron, "all"))
    ]
    if wanted.after_power_cut and any(e in WENT_COLD for e in events):
        return "cold"
    if wanted.after_cover and "cover_changed" in events:
        return "cover"
    idle = timedelta(minutes=wanted.after_idle_min)
    if idle and at - sample.at > idle and at - (desk.log.last_made(day, iron) or sample.at) > idle:
        return "idle"
    strange = sample.welders and welders and not set(welders) <= set(sample.welders)
    return "people" if wanted.after_people_change and strange else None


def warning(reason: str | None, iron: str | None) -> tuple[Say, ...]:
    """What the reply to a weld without its sample adds."""
    return (Say(f"gate.{reason}", {"iron": iron}),) if reason else ()


def unsampled(place: Place, desk: Desk) -> tuple[Say, ...]:
    """For who releases pours: the welds of a place that rest on no sample."""
    if desk.role not in ("superintendent", "inspector"):
        return ()
    numbers = list(desk.log.unsampled(place.name))
    return (Say("gate.marked", {"numbers": numbers}),) if numbers else ()


def holds(place: Place, desk: Desk) -> list[Say]:
    """Profiles used at a place that are not qualified yet, where the site asks for it."""
    need = desk.site.samples.qualify
    if not need:
        return []
    profiles = dict.fromkeys(s.profile for s in desk.log.splices(place=place.name) if s.status != "voided")
    says = []
    for profile in profiles:
        have = qualifying(profile, desk)
        if have < need:
            says.append(Say("gate.qualify", {"profile": profile, "have": have, "need": need}))
    return says


def qualifying(profile: str | None, desk: Desk) -> int:
    """Passed samples of a profile that somebody who gives verdicts has witnessed."""
    only_one = len(desk.site.profiles) <= 1
    return sum(
        s.verdict == "pass" and s.witnessed and (only_one or s.profile == profile) for s in desk.log.samples(None)
    )
