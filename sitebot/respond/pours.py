"""May a place be poured: what the log shows, what is missing, and never leave to pour."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time

from sitebot.acts import Act, Unclear
from sitebot.entries import DamageReported, PourPlanned, PourReleased, ReleaseRelayed
from sitebot.message import Say, Term
from sitebot.record import Place, Splice
from sitebot.respond.dates import date_of, is_clock
from sitebot.respond.desk import Answer, Desk
from sitebot.respond.gate import holds, unsampled
from sitebot.respond.people import notice
from sitebot.respond.places import place_of


def ask(act: Act, desk: Desk) -> Answer:
    """Say what stands between a place and its pour."""
    name = place_of(act.facts.get("place"), desk)
    if name is None:
        return _all_places(desk)
    place = desk.log.place(name)
    says = (*place_says(place, desk), *unsampled(place, desk))
    return Answer(says, facts={"place": name, "ready": is_ready(place, desk)})


def is_ready(place: Place, desk: Desk) -> bool:
    """Complete, and held by nothing the site asks for."""
    return place.is_ready and not holds(place, desk)


def place_says(place: Place, desk: Desk) -> tuple[Say, ...]:
    """The state of one place: complete, or what is missing in the order to mend it."""
    total = sum(place.accepted.values())
    if is_ready(place, desk):
        values = {"place": place.name, "n": total, "by_lead": Say("pours.by_lead") if desk.lead_inspects else None}
        return (Say("pours.complete", values),)
    if not place.planned and not place.made:
        return (Say("pours.no_plan_nothing", {"place": place.name}),)
    return (Say("pours.not_yet", {"place": place.name, "points": open_points(place, desk)}),)


def open_points(place: Place, desk: Desk) -> list[Say]:
    """What is open, in the order to mend it: damage, rework, splices to make, splices to inspect, the plan."""
    points = [Say("pours.damaged", {"what": d.what, "number": d.number}) for d in place.damage]
    if place.open_rework:
        points.append(Say("pours.rework", {"numbers": list(place.open_rework)}))
    waiting = {c.kind: c.n for c in desk.log.totals(place.name) if c.status == "pending"}
    # A cut-out that will be redone is not one more to make.
    redo = [s for n in place.open_rework if (s := desk.log.splice(n))]
    if place.missing and (untold := _kind_untold(place, desk)):
        points.append(Say("pours.kind_untold", {"numbers": untold}))
    for kind, n in place.missing.items():
        short = n - waiting.get(kind, 0) - sum(s.kind == kind for s in redo)
        if short > 0:
            accepted, planned = place.accepted.get(kind, 0), place.planned[kind]
            values = {"n": short, "kind": Term(f"kind.{kind}", short), "accepted": accepted, "planned": planned}
            points.append(Say("pours.to_make", values))
    if place.pending:
        names = [p.name for p in desk.judges()]
        points.append(Say("pours.to_inspect", {"numbers": list(place.pending), "names": names}))
    if not place.planned:
        points.append(Say("pours.no_plan"))
    return points + holds(place, desk)


def _kind_untold(place: Place, desk: Desk) -> list[int]:
    """Splices that stand for none of what is planned, since nobody said of what kind they are."""
    statuses = [c.status for c in desk.log.totals(place.name) if c.kind == "unknown" and c.n]
    open_or_good = [s for s in statuses if s in ("pending", "accepted")]
    splices = [s for status in open_or_good for s in desk.log.splices(place=place.name, status=status)]
    return sorted(s.number for s in splices if s.kind == "unknown")


def _all_places(desk: Desk) -> Answer:
    plan = desk.log.plan()
    if not plan:
        return Answer((Say("pours.no_places"),))
    lines = []
    for planned in plan:
        place = desk.log.place(planned.name)
        key = "pours.short_complete" if is_ready(place, desk) else "pours.short_open"
        values = {
            "place": place.name,
            "accepted": sum(min(place.accepted.get(k, 0), n) for k, n in place.planned.items()),
            "planned": sum(place.planned.values()),
        }
        lines.append(Say(key, values))
    return Answer((Say("pours.all", {"lines": lines}),))


def complete_says(judged: Sequence[Splice], verdict: str, desk: Desk) -> tuple[Say, ...]:
    """After verdicts that made a place complete: say so, with whose call the pour is."""
    if verdict != "accept":
        return ()
    says = []
    for name in dict.fromkeys(s.place for s in judged if s.place):
        place = desk.log.place(name)
        accepted = dict(place.accepted)
        for s in judged:
            if s.place == name and s.status != "accepted":
                accepted[s.kind] = accepted.get(s.kind, 0) + 1
        numbers = {s.number for s in judged}
        left = [n for n in (*place.pending, *place.open_rework) if n not in numbers]
        damage = [d for d in place.damage if d.number not in numbers]
        full = bool(place.planned) and all(accepted.get(k, 0) >= n for k, n in place.planned.items())
        if full and not left and not damage:
            says.append(Say("pours.now_complete", {"place": name, "n": sum(accepted.values())}))
    return tuple(says)


def plan(act: Act, desk: Desk) -> Answer:
    """Keep when a pour is planned, and say what is still open there."""
    name = place_of(act.facts.get("place"), desk)
    if name is None:
        return Answer((Say("pours.which_place"),), "ask_back", asks=Unclear("place"))
    today = date.fromisoformat(desk.day)
    day = date_of(act.facts.get("date"), today)
    entry = PourPlanned(place=name, date=day.isoformat() if day else "", at=act.facts.get("at"))
    place = desk.log.place(name)
    says = [Say("pours.planned", {"place": name, "date": day or act.facts.get("date"), "at": _clock(act)})]
    if not is_ready(place, desk) and (points := open_points(place, desk)):
        says.append(Say("pours.still_open", {"points": points}))
    return Answer(tuple(says), "record", entries=(entry,), facts={"place": name})


def _clock(act: Act) -> time | str | None:
    at = act.facts.get("at")
    return time.fromisoformat(f"{at:0>5}") if is_clock(at) else str(at) if at else None


def release(act: Act, desk: Desk) -> Answer:
    """Record a release given by who may; against open points it needs a reason and is marked so."""
    name = place_of(act.facts.get("place"), desk)
    if name is None:
        return Answer((Say("pours.which_place"),), "ask_back", asks=Unclear("place"))
    if desk.role not in ("superintendent", "inspector"):
        ask_them = Say("pours.release_told", {"place": name, "teller": desk.person.name if desk.person else ""})
        return Answer(
            (Say("pours.release_relayed", {"place": name}),),
            "record",
            entries=(ReleaseRelayed(place=name, by=str(act.facts.get("who") or "")),),
            notices=notice(desk.with_role("superintendent", "inspector"), desk, ask_them),
            facts={"place": name},
        )
    place = desk.log.place(name)
    points = open_points(place, desk) if desk.log.is_kept and not is_ready(place, desk) else []
    reason = str(act.facts.get("reason") or "")
    if points and not reason:
        says = (Say("pours.release_why", {"place": name, "points": points}),)
        return Answer(says, "ask_back", asks=Unclear("release_reason", values={"place": name}))
    entry = PourReleased(place=name, reason=reason, open_points=tuple(p.key for p in points), at=act.facts.get("at"))
    says = (Say("pours.released", {"place": name, "against": Say("pours.against") if points else None}),)
    return Answer(says, "record", entries=(entry,), facts={"place": name})


def damage(act: Act, desk: Desk) -> Answer:
    """Damage after acceptance reopens the place until it is repaired and inspected."""
    what = str(act.facts.get("what") or "")[:120]
    place = place_of(act.facts.get("place"), desk)
    numbers = [int(n) for n in act.facts.get("numbers") or []]
    unknown = [n for n in numbers if desk.log.splice(n) is None]
    known = [n for n in numbers if n not in unknown]
    entries = [
        DamageReported(number=n, place=(s.place if (s := desk.log.splice(n)) else None) or place, what=what)
        for n in known
    ]
    if not known and (place or numbers):
        entries = [DamageReported(place=place, what=what)]
    if not entries:
        return Answer((Say("pours.damage_where"),), "ask_back", asks=Unclear("place"))
    values = {"numbers": numbers, "place": entries[0].place, "what": what}
    tell = Say("pours.damage_told", {**values, "by": desk.person.name if desk.person else ""})
    return Answer(
        (Say("pours.damage", values),),
        "record",
        entries=tuple(entries),
        notices=notice(desk.with_role("lead", "inspector"), desk, tell),
        facts={"numbers": numbers, "place": entries[0].place},
    )


def waiting(act: Act, desk: Desk) -> Answer:
    """What waits for a verdict, by place; relayed verdicts that want confirming."""
    pending = desk.log.splices(status="pending")
    if not pending:
        return Answer((Say("pours.nothing_waits"),))
    by_place: dict[str, list[int]] = {}
    for splice in pending:
        by_place.setdefault(splice.place or "", []).append(splice.number)
    lines = [Say("pours.waits_at", {"place": p or Say("tally.no_place"), "numbers": n}) for p, n in by_place.items()]
    says = [Say("pours.waiting", {"n": len(pending), "splices": Term("splice", len(pending)), "lines": lines})]
    if relayed := desk.log.relayed():
        says.append(Say("pours.relayed_wait", {"numbers": [r.number for r in relayed]}))
    return Answer(tuple(says))
