"""Irons and the morning's sample weld: what was reported of them, and what to do next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from sitebot.acts import Act, Unclear
from sitebot.entries import Acknowledged, Entry, IronReported, SampleReported
from sitebot.message import Say, Term
from sitebot.respond.dates import moment_of
from sitebot.respond.desk import Answer, Desk, Notice
from sitebot.respond.gate import has_sample, qualifying
from sitebot.respond.heat import heat_band, heat_remark, way_said
from sitebot.respond.iron_names import ALL, irons_said
from sitebot.respond.people import ids_of, notice
from sitebot.respond.shifts import crew_of

#: Common practice: up to an hour to welding heat, about half an hour to cool [min].
HEATING_MIN, COOLING_MIN = 60, 30
EVENTS = ("plugged_in", "hot", "reading", "unplugged", "cover_changed", "fault", "power_cut", "power_back")


def answer(act: Act, desk: Desk) -> Answer:
    """Record what happened to an iron."""
    event = act.facts.get("event")
    if event not in EVENTS:
        return Answer((Say("irons.what"),), "ask_back", asks=Unclear("iron_event"))
    iron = str(act.facts["iron"]) if act.facts.get("iron") is not None else None
    moment = desk.said_at
    if act.facts.get("at"):
        moment = min(moment_of(str(act.facts["at"]), date.fromisoformat(desk.day), desk.said_at), desk.said_at)
    temp, way = act.facts.get("temp_f"), act.facts.get("temp_by")
    entries = tuple(
        IronReported(day=desk.day, made_at=moment.isoformat(), event=event, iron=name, temp_f=temp, temp_by=way)
        for name in irons_meant(iron, event, desk)
    )
    named = [i for i in irons_meant(iron, event, desk) if i]
    values = {
        "iron": irons_said(named) if named else None,
        "the_irons": irons_said(named),
        "time": moment,
        "temp": temp,
        "temp_by": way_said(way),
    }
    says, notices = _after(event, values, temp, iron, desk)
    return Answer(says, "record", entries=entries, notices=notices)


def irons_meant(iron: str | None, event: str, desk: Desk) -> list[str | None]:
    """The irons to write down: those named; "all" or none named means all that the event can be true of."""
    if iron is None and event == "fault":
        iron = _spoken_of(desk)
    if iron is not None and iron not in ALL:
        return [iron]
    # Who belongs to a crew with irons of its own speaks of those; the other crew's stay as they are.
    theirs = crew_of(desk.me, desk.site).irons
    on = [i.iron for i in desk.log.irons_on() if i.iron and (not theirs or i.iron in theirs)]
    if on and (event == "unplugged" or (iron in ALL and event != "plugged_in")):
        return list(on)
    if event in ("plugged_in", "unplugged") and theirs:
        return list(theirs)
    if event == "plugged_in" and desk.site.irons:
        return list(desk.site.irons)
    return [None]


def _spoken_of(desk: Desk) -> str | None:
    """ "iron 2 won't go past 300" and then "it's dead": the iron the same person spoke of just before."""
    last = next((a for a in desk.last[:1] if a.name == "report_iron"), None)
    return str(last.facts["iron"]) if last and last.facts.get("iron") else None


def _after(
    event: str, values: dict[str, object], temp: float | None, iron: str | None, desk: Desk
) -> tuple[tuple[Say, ...], tuple[Notice, ...]]:
    match event:
        case "plugged_in":
            ready = desk.said_at + timedelta(minutes=HEATING_MIN)
            return (Say("irons.plugged_in", {**values, "ready": ready}),), ()
        case "unplugged":
            cool = desk.said_at + timedelta(minutes=COOLING_MIN)
            return (Say("irons.unplugged", {**values, "cool": cool}),), ()
        case "cover_changed":
            return (Say("irons.cover_changed", values),), ()
        case "power_cut":
            tell = Say("irons.power_cut_told", {**values, "by": desk.person.name if desk.person else ""})
            return (Say("irons.power_cut", values),), notice(desk.with_role("lead"), desk, tell)
        case "power_back":
            return (Say("irons.power_back", values),), ()
        case "fault":
            tell = Say("irons.fault_told", {**values, "by": desk.person.name if desk.person else ""})
            return (Say("irons.fault", values),), notice(desk.with_role("lead"), desk, tell)
    return _heat(values, temp, iron, desk), ()


def _heat(values: dict[str, object], temp: float | None, iron: str | None, desk: Desk) -> tuple[Say, ...]:
    if temp is None:
        sample = () if has_sample(desk.day, iron, desk) and desk.log.is_kept else (Say("irons.sample_next"),)
        return (Say("irons.hot", values), *sample)
    low, high = heat_band(desk)
    values = {**values, "low": round(low), "high": round(high)}
    if temp > high:
        return (Say("irons.too_hot", values),)
    if temp < low:
        return (Say("irons.not_yet", values),)
    says = [Say("irons.in_band", values)]
    if desk.log.is_kept and not has_sample(desk.day, iron, desk):
        says.append(Say("irons.sample_next"))
    return tuple(says)


def sample(act: Act, desk: Desk) -> Answer:
    """Record the sample weld; crew may judge it themselves."""
    verdict = act.facts.get("verdict")
    if verdict not in ("pass", "fail"):
        return Answer((Say("irons.sample_verdict"),), "ask_back", asks=Unclear("sample"))
    welders, joined = ids_of(act.facts.get("welders") or [], desk)
    witness, more = _witness(act.facts.get("witness") or [], desk)
    iron = str(act.facts["iron"]) if act.facts.get("iron") else None
    defect = act.facts.get("defect") if verdict == "fail" else None
    entry = SampleReported(
        day=desk.day,
        made_at=desk.said_at.isoformat(),
        verdict=verdict,
        iron=iron,
        defect=defect,
        temp_f=act.facts.get("temp_f"),
        temp_by=act.facts.get("temp_by"),
        welders=welders,
        profile=act.facts.get("profile"),
        witness=witness,
        # Only his own word, and not for a weld of his own.
        witnessed=desk.me in witness and desk.may_judge and desk.me not in welders,
    )
    joined = (*joined, *more, *_read_at(entry, act))
    named = [i for i in irons_meant(iron, "sample", desk) if i] if iron else []
    values = {"iron": irons_said(named) if named else None, "defect": Term(f"defect.{defect}") if defect else None}
    if verdict == "pass":
        return Answer(_passed(entry, values, desk), "record", entries=(*joined, entry))
    low, high = heat_band(desk)
    hot = Say("irons.turn_down", {"low": round(low), "high": round(high)}) if defect == "char" else None
    tell = Say("irons.sample_fail_told", {**values, "by": desk.person.name if desk.person else ""})
    return Answer(
        (Say("irons.sample_fail", {**values, "hot": hot}),),
        "record",
        entries=(*joined, entry),
        notices=notice(desk.with_role("lead"), desk, tell) if desk.role == "crew" else (),
    )


def _passed(entry: SampleReported, values: Mapping[str, object], desk: Desk) -> tuple[Say, ...]:
    """A sample that passed: its heat where that is out of the band, and how far the profile's qualification is."""
    says = [Say("irons.sample_pass", values)]
    if entry.temp_f is not None and (remark := heat_remark(entry.temp_f, desk)):
        says.append(remark)
    if (need := desk.site.samples.qualify) and desk.log.is_kept:
        have = qualifying(entry.profile, desk) + entry.witnessed
        says.append(Say("gate.qualified", {"profile": entry.profile, "have": have, "need": need}))
    return tuple(says)


def _read_at(sample: SampleReported, act: Act) -> tuple[Entry, ...]:
    """The heat told with a sample is what its iron showed; once, where the text tells it as a reading too."""
    if sample.temp_f is None or act.facts.get("read"):
        return ()
    told = IronReported(day=sample.day, made_at=sample.made_at, event="reading", iron=sample.iron, temp_f=sample.temp_f)
    return (replace(told, temp_by=sample.temp_by),)


def _witness(told: Sequence[str], desk: Desk) -> tuple[tuple[str, ...], tuple[Entry, ...]]:
    """Who watched; a role means those who have it. People nobody knows are left out."""
    roles = {"inspector": desk.judges(), "lead": desk.with_role("lead")}
    named = [p.name for n in told for p in roles.get(n, ())] + [n for n in told if n not in roles]
    return ids_of(named, desk)


def acknowledge(act: Act, desk: Desk) -> Answer:
    """ "done" and a thumbs-up count for the reminder open at that time."""
    what = act.facts.get("what") or next(iter(desk.reminders), None)
    if act.facts.get("thanks"):
        # Thanks for a reminder is not its work done: a hot iron stays hot.
        return Answer((Say("talk.ack"),))
    if what == "sample":
        return Answer((Say("irons.sample_verdict"),), "ask_back", asks=Unclear("sample"))
    if what not in ("preheat", "unplug", "cover"):
        return Answer((Say("talk.ack"),), "record" if not desk.log.is_kept else "answer")
    event = {"preheat": "plugged_in", "unplug": "unplugged", "cover": "cover_changed"}[what]
    if _known_off(event, desk):
        return Answer((Say("talk.ack"),))
    done = answer(Act("report_iron", {"event": event}), desk)
    ack: Entry = Acknowledged(what=what, day=desk.day, made_at=desk.said_at.isoformat())
    return Answer(done.says, "record", entries=(ack, *done.entries))


def _known_off(event: str, desk: Desk) -> bool:
    known = desk.log.irons()
    return event == "unplugged" and bool(known) and not any(i.on for i in known)
