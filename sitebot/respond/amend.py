"""Corrections of the record: each a new entry that names the old one, by whoever may."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import Entry, SpliceCorrected, SpliceRenumbered, SpliceVoided, VerdictGiven, WishKept
from sitebot.message import Say, Term
from sitebot.record import Splice
from sitebot.respond.dates import moment_of
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.heat import heat_remark, way_said
from sitebot.respond.inspections import STATUS, given, refusal
from sitebot.respond.people import ids_of, names_of, notice
from sitebot.respond.places import kind_at, place_of
from sitebot.respond.splices import MOST_AT_ONCE, Made, Wanted, numbered, reported
from sitebot.respond.targets import is_elsewhere, target_numbers

DECIDED = ("accepted", "rejected")
#: A count corrected upwards by more than this, and to more than double, is asked about.
FAR_MORE = 5
#: What only who may judge changes once a verdict stands (design.md, Who may do what).
FIXED = {"place", "kind", "number", "void"}
#: What a correction may name, in words of its own.
FIELDS = {
    "joint", "welders", "place", "iron", "temp_f", "temp_by", "profile", "lot", "at", "number", "count", "void"
}  # fmt: skip


def answer(act: Act, desk: Desk) -> Answer:
    """Change, void or renumber what was reported."""
    change = {k: v for k, v in (act.facts.get("change") or {}).items() if v is not None}
    if act.facts.get("void"):
        change = {"void": True}
    if not change:
        return Answer((Say("amend.what"),), "ask_back", asks=Unclear("change"))
    if "verdict" in change or "defect" in change:
        return _verdict(act, change, desk)
    numbers = target_numbers(act, desk)
    if numbers is None or ("count" in change and is_elsewhere(act, desk)):
        return Answer((Say("amend.which"),), "ask_back", asks=Unclear("number"))
    if not desk.log.is_kept:
        return Answer((_blank_say(act, change, desk),), "record")
    splices = [s for n in numbers if (s := desk.log.splice(n))]
    if not splices:
        return Answer((Say("amend.unknown", {"numbers": numbers}),), "ask_back", asks=Unclear("number"))
    if not _may(splices, change, desk):
        return _wished(splices, change, desk)
    return _changed(splices, change, act, desk)


def _blank_say(act: Act, change: Mapping[str, Any], desk: Desk) -> Say:
    """Without a record behind it: say what would be changed."""
    target = act.facts.get("target")
    named = [int(target)] if isinstance(target, int) else None
    if change.get("void"):
        return Say("amend.voided", {"numbers": named})
    return Say("amend.changed", {"numbers": named, "changes": _changes_said(change, desk)})


def _may(splices: Sequence[Splice], change: Mapping[str, Any], desk: Desk) -> bool:
    own = all(desk.me == s.told_by or desk.me in s.welders for s in splices)
    if desk.role == "crew" and not own and not _only_adds(splices, change):
        return False
    untold = "joint" in change and all(s.kind == "unknown" for s in splices)
    fixed = bool(set(change) & FIXED) or ("joint" in change and not untold)
    return desk.may_judge or not (fixed and any(s.status in DECIDED for s in splices))


def _only_adds(splices: Sequence[Splice], change: Mapping[str, Any]) -> bool:
    """What nobody has told yet anybody of the crew may add: it takes nothing back."""
    fields = {"temp_f", "temp_by", "iron", "welders", "profile", "lot"}
    return set(change) <= fields and not any(getattr(s, k) for s in splices for k in change)


def _wished(splices: Sequence[Splice], change: Mapping[str, Any], desk: Desk) -> Answer:
    """Kept and told to who may; nothing changes until he says so."""
    decided = any(s.status in DECIDED for s in splices)
    whose = desk.judges() if decided else desk.with_role("lead")
    numbers = [s.number for s in splices]
    values = {
        "numbers": numbers,
        "names": [p.name for p in whose],
        "changes": _changes_said(change, desk),
        "teller": desk.person.name if desk.person else "",
    }
    return Answer(
        (Say("amend.not_yours" if not decided else "amend.has_verdict", values),),
        "refuse",
        entries=tuple(WishKept(number=n, change=dict(change)) for n in numbers),
        notices=notice(whose, desk, Say("amend.wish", values)),
        facts={"numbers": numbers},
    )


def _changed(splices: Sequence[Splice], change: Mapping[str, Any], act: Act, desk: Desk) -> Answer:
    if change.get("void"):
        return _voided(splices, desk)
    if "count" in change:
        if not 0 <= int(change["count"]) <= MOST_AT_ONCE:
            return Answer((Say("splices.how_many"),), "ask_back", asks=Unclear("count"))
        far = _too_many(splices, int(change["count"]), act, desk)
        return far or _counted(splices, int(change["count"]), desk)
    if "number" in change:
        return _renumbered(splices, int(change["number"]), desk)
    return _corrected(splices, change, desk)


def _voided(splices: Sequence[Splice], desk: Desk) -> Answer:
    live = [s for s in splices if s.status != "voided"]
    numbers = [s.number for s in live]
    if not live:
        return Answer((Say("amend.already_void", {"numbers": [s.number for s in splices]}),))
    return Answer(
        (Say("amend.voided", {"numbers": numbers}),),
        "record",
        entries=tuple(SpliceVoided(number=n) for n in numbers),
        notices=_tell_judges(live, Say("amend.told_void", _told(numbers, desk)), desk),
        facts={"numbers": numbers, "void": True},
    )


def _counted(splices: Sequence[Splice], count: int, desk: Desk) -> Answer:
    """A count corrected downwards voids the last ones; upwards, the same again with new numbers."""
    live = [s for s in splices if s.status != "voided"]
    kept = [s.number for s in live[:count]]
    surplus = [s.number for s in live[count:]]
    if surplus:
        says = (Say("amend.count_down", {"n": count, "numbers": kept, "void": surplus}),)
        return Answer(says, "record", entries=tuple(SpliceVoided(number=n) for n in surplus), facts={"numbers": kept})
    if count == len(live) or not live:
        return Answer((Say("amend.count_same", {"n": count}),))
    model = live[-1]
    more = numbered([Wanted(None, model.kind, model.place)] * (count - len(live)), desk)
    made = Made(
        model.made_at or desk.said_at,
        model.day,
        model.late,
        model.welders,
        model.iron,
        model.temp_f,
        model.temp_by,
        model.profile,
        model.lot,
    )
    return Answer(
        (Say("amend.count_up", {"n": count, "numbers": [w.number for w in more]}),),
        "record",
        entries=tuple(reported(w, made, desk) for w in more),
        facts={"numbers": [*kept, *(w.number for w in more)]},
    )


def _too_many(splices: Sequence[Splice], count: int, act: Act, desk: Desk) -> Answer | None:
    """ "make it 12" after one butt: so many more at a stroke are asked about first."""
    live = [s.number for s in splices if s.status != "voided"]
    if act.facts.get("sure") or count <= max(len(live) + FAR_MORE, 2 * len(live)):
        return None
    more = count - len(live)
    sure = Act(act.name, {"target": live, "change": {"count": count}, "sure": True})
    values = {"n": count, "numbers": live, "more": more}
    asks = Unclear("amend.count_sure", ((sure,), (Act(act.name, {"target": live}),)), values)
    return Answer((Say("amend.count_sure", values),), "ask_back", asks=asks)


def _renumbered(splices: Sequence[Splice], to: int, desk: Desk) -> Answer:
    old = splices[0].number
    if len(splices) > 1 or to == old:
        return Answer((Say("amend.which"),), "ask_back", asks=Unclear("number"))
    if desk.log.splice(to):
        return Answer(
            (Say("splices.taken", {"numbers": [to], "next": desk.log.highest() + 1}),),
            "ask_back",
            asks=Unclear("number"),
        )
    return Answer(
        (Say("amend.renumbered", {"old": old, "new": to}),),
        "record",
        entries=(SpliceRenumbered(number=old, to=to),),
        facts={"numbers": [to], "made": [to]},
    )


def _corrected(splices: Sequence[Splice], change: Mapping[str, Any], desk: Desk) -> Answer:
    values, joined = _fields(change, splices[0], desk)
    if not values:
        return Answer((Say("amend.what"),), "ask_back", asks=Unclear("change"))
    entries: list[Entry] = list(joined)
    for splice in splices:
        fresh = {k: v for k, v in values.items() if _plain(getattr(splice, k)) != v}
        if fresh:
            was = {k: _plain(getattr(splice, k)) for k in fresh}
            entries.append(SpliceCorrected(number=splice.number, change=fresh, was=was))
    numbers = [s.number for s in splices]
    says = [Say("amend.changed", {"numbers": numbers, "changes": _changes_said(change, desk)})]
    if values.get("temp_f") is not None and (remark := heat_remark(values["temp_f"], desk)):
        says.append(remark)
    tell = Say("amend.told_change", {**_told(numbers, desk), "changes": _changes_said(change, desk)})
    return Answer(
        tuple(says),
        "record",
        entries=tuple(entries),
        notices=_tell_judges(splices, tell, desk),
        facts={"numbers": numbers},
    )


def _plain(value: Any) -> Any:
    """A field's value as entries hold it."""
    return value.isoformat() if hasattr(value, "isoformat") else list(value) if isinstance(value, tuple) else value


def _fields(change: Mapping[str, Any], splice: Splice, desk: Desk) -> tuple[dict[str, Any], tuple[Entry, ...]]:
    """Fields of the record and their new values, from the facts of a correction."""
    values: dict[str, Any] = {}
    joined: tuple[Entry, ...] = ()
    place = place_of(change.get("place"), desk)
    if place:
        values["place"] = place
    if change.get("joint"):
        values["kind"] = kind_at(str(change["joint"]), place or splice.place, desk)
    if change.get("welders"):
        ids, joined = ids_of(change["welders"], desk)
        values["welders"] = list(ids)
    if change.get("temp_f") is not None:
        values["temp_f"] = float(change["temp_f"])
    if change.get("at"):
        day = date.fromisoformat(splice.day) if splice.day else desk.said_at.date()
        values["made_at"] = moment_of(str(change["at"]), day, desk.said_at).isoformat()
    values |= {k: str(change[k]) for k in ("iron", "profile", "lot", "temp_by") if change.get(k)}
    return values, joined


def _changes_said(change: Mapping[str, Any], desk: Desk) -> list[Say]:
    """ "iron 1", "372 F", "butt" ... one phrase a field."""
    says = []
    for key, value in change.items():
        if key == "joint":
            value = Term(f"kind.{value}")
        if key == "welders":
            value = ["me" if str(v).casefold() in ("me", "yo") else str(v) for v in value]
            value = [desk.person.name if v == "me" and desk.person else v for v in value]
        if key == "temp_by":
            value = way_said(value)
        if key in FIELDS:
            says.append(Say(f"amend.field_{key}", {"value": value}))
    return says


def _told(numbers: Sequence[int], desk: Desk) -> dict[str, object]:
    return {"numbers": list(numbers), "by": desk.person.name if desk.person else ""}


def _tell_judges(splices: Sequence[Splice], say: Say, desk: Desk) -> tuple[Any, ...]:
    """Who gave the verdict hears of any change to a splice that has one."""
    return notice(desk.judges(), desk, say) if any(s.status in DECIDED for s in splices) else ()


def _verdict(act: Act, change: Mapping[str, Any], desk: Desk) -> Answer:
    """A verdict taken back or its defect named anew: only by who may judge, as a new entry."""
    if not desk.may_judge:
        return refusal(desk)
    numbers = target_numbers(act, desk)
    if numbers is None:
        return Answer((Say("amend.which"),), "ask_back", asks=Unclear("number"))
    splices = [s for n in numbers if (s := desk.log.splice(n)) and s.status != "voided"]
    if not splices and desk.log.is_kept:
        return Answer((Say("amend.unknown", {"numbers": numbers}),), "ask_back", asks=Unclear("number"))
    entries: list[Entry] = []
    for splice in splices:
        now = {"accepted": "accept", "rejected": "reject"}.get(splice.status)
        verdict = str(change.get("verdict") or now or "reject")
        if verdict == "accept" and splice.status == "rejected" and desk.log.redos_of(splice.number):
            return Answer((Say("inspections.replaced", {"numbers": [splice.number]}),), "refuse")
        if verdict == "pending":
            entries.append(VerdictGiven(number=splice.number, verdict="pending", corrects=splice.status))
        else:
            entries.append(given(splice, {**change, "verdict": verdict}, desk))
    verdict = str(change.get("verdict") or "reject")
    values = {
        "numbers": numbers,
        "status": Term(f"status.{STATUS.get(verdict, 'pending')}"),
        "defect": Term(f"defect.{change['defect']}") if change.get("defect") else None,
    }
    by = {**values, "by": desk.person.name if desk.person else "", "names": names_of([desk.me], desk)}
    return Answer(
        (Say("amend.verdict", values),),
        "record",
        entries=tuple(entries),
        notices=notice(desk.with_role("lead"), desk, Say("amend.told_verdict", by)),
        facts={"numbers": numbers},
    )
