"""Splices reported as made: numbers given, kept apart, corrected by the same people, never overwritten."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import Entry, SpliceCorrected, SpliceReported
from sitebot.message import Say, Term
from sitebot.record import Splice
from sitebot.respond.dates import date_of, moment_of
from sitebot.respond.desk import Answer, Desk, Notice
from sitebot.respond.gate import missing, warning
from sitebot.respond.heat import heat_remark, way_said
from sitebot.respond.people import ids_of, names_of, notice
from sitebot.respond.places import kind_at, place_of
from sitebot.respond.weather import told_in

#: More than a crew makes in a day: then somebody meant another number.
MOST_AT_ONCE = 60
DECIDED = ("accepted", "rejected")
#: A time that would lie ahead is the other twelve hours' where that was so long ago at most.
HALF_A_DAY, A_WHILE_AGO = timedelta(hours=12), timedelta(hours=4)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One splice to be recorded; number None: the next free one."""

    number: int | None
    kind: str
    place: str | None
    #: Its own heat, where the report gives one for each.
    temp_f: float | None = None


@dataclass(frozen=True, slots=True)
class Made:
    """What all splices of one report have in common."""

    made_at: datetime
    day: str
    late: bool
    welders: tuple[str, ...]
    iron: str | None
    temp_f: float | None
    temp_by: str | None
    profile: str | None
    lot: str | None


def answer(act: Act, desk: Desk) -> Answer:
    """Record a report of splices."""
    facts = act.facts
    numbers = [int(n) for n in facts.get("numbers") or []]
    count = facts.get("count", len(numbers) or None)
    if count is None or (numbers and count != len(numbers)):
        return Answer((Say("splices.how_many"),), "ask_back", asks=Unclear("count"))
    if not 0 < count <= MOST_AT_ONCE:
        return Answer((Say("splices.how_many"),), "ask_back", asks=Unclear("count"))
    welders, joined = ids_of(facts.get("welders") or [], desk)
    wanted = wanted_of(facts, int(count), numbers, desk)
    made = made_of(facts, welders, desk)
    taken = [w for w in wanted if desk.log.is_kept and w.number is not None and desk.log.splice(w.number)]
    mine = [w for w in taken if _is_same_people(desk.log.splice(w.number or 0), welders, desk)]
    others = [w for w in taken if w not in mine]
    fresh = numbered([w for w in wanted if w not in taken], desk)
    entries: tuple[Entry, ...] = (*joined, *weather_of(facts, made, desk), *(reported(w, made, desk) for w in fresh))
    corrections = [c for w in mine if (c := _correction(w, made, desk))]
    says = _says(fresh, made, desk)
    if mine:
        says += _corrected(mine, corrections)
    if others:
        says += (Say("splices.taken", {"numbers": [w.number for w in others], "next": _next_free(desk, fresh)}),)
    told = (*mine, *fresh)
    return Answer(
        says,
        "ask_back" if others and not told else "record",
        entries=(*entries, *corrections) if told else (),
        notices=_complete(fresh, desk),
        facts={"numbers": [w.number for w in told], "place": _common_place(told), "count": len(told)},
        asks=_asks(act, others, told, desk),
    )


def _asks(act: Act, others: Sequence[Wanted], told: Sequence[Wanted], desk: Desk) -> Unclear | None:
    """What the next text may settle: another number for what is not recorded yet, or the place."""
    if others:
        rest = {
            k: v for k, v in act.facts.items() if k not in ("numbers", "count", "joints", "places", "place", "joint")
        }
        kinds, places = ({getattr(w, k) for w in others} for k in ("kind", "place"))
        rest |= {
            "joint": kinds.pop() if len(kinds) == 1 else "unknown",
            "place": places.pop() if len(places) == 1 else None,
        }
        values = {"count": len(others), "next": _next_free(desk, [w for w in told if w not in others])}
        return Unclear("number", ((Act(act.name, rest),),), values)
    nowhere = [w.number for w in told if w.place is None]
    return Unclear("splices.place", values={"numbers": nowhere}) if nowhere and desk.log.is_kept else None


def wanted_of(facts: Mapping[str, Any], count: int, numbers: Sequence[int], desk: Desk) -> list[Wanted]:
    """One line a splice, kinds and places dealt out in the order told."""
    place = place_of(facts.get("place"), desk)
    places = [place_of(p, desk) for p, n in (facts.get("places") or {}).items() for _ in range(int(n))]
    if len(places) != count:
        places = [place] * count
    joints = [k for k, n in (facts.get("joints") or {}).items() for _ in range(int(n))]
    if len(joints) != count:
        joint = facts.get("joint")
        joints = ["unknown" if joint == "mixed" else joint] * count
    own: Sequence[int | None] = numbers or [None] * count
    temps = facts.get("temp_f")
    each = temps if isinstance(temps, list) and len(temps) == count else [None] * count
    return [
        Wanted(n, kind_at(k, p, desk), p, None if f is None else float(f))
        for n, k, p, f in zip(own, joints, places, each, strict=True)
    ]


def made_of(facts: Mapping[str, Any], welders: tuple[str, ...], desk: Desk) -> Made:
    """Time, people, iron and heat of a report; a time told counts, else the time of the message."""
    moment = desk.said_at
    today = date.fromisoformat(desk.day)
    told_day = date_of(facts.get("date"), today)
    if facts.get("at"):
        moment = moment_of(str(facts["at"]), told_day or today, desk.said_at)
    elif told_day:
        moment = moment_of(moment.strftime("%H:%M"), told_day, desk.said_at)
    if moment > desk.said_at:
        # "12:55", told at a quarter past one at night: the clock on the wall knows no pm.
        earlier = moment - HALF_A_DAY
        moment = earlier if timedelta(0) <= desk.said_at - earlier <= A_WHILE_AGO else desk.said_at
    return Made(
        made_at=moment,
        day=desk.day_of(moment),
        late=bool(told_day) or desk.said_at < desk.now,
        welders=welders,
        iron=str(facts["iron"]) if facts.get("iron") else None,
        temp_f=float(facts["temp_f"]) if isinstance(facts.get("temp_f"), int | float) else None,
        temp_by=facts.get("temp_by"),
        profile=facts.get("profile"),
        lot=facts.get("lot"),
    )


def weather_of(facts: Mapping[str, Any], made: Made, desk: Desk) -> tuple[Entry, ...]:
    """Weather told with a report, as of the time it was made."""
    told = told_in(facts.get("weather") or {}, made.made_at, desk)
    return (told,) if told else ()


def numbered(wanted: Sequence[Wanted], desk: Desk) -> list[Wanted]:
    """Give the next free numbers to those without one."""
    top = max([desk.log.highest(), *(w.number or 0 for w in wanted)], default=0)
    out = []
    for w in wanted:
        if w.number is None:
            top += 1
        out.append(w if w.number is not None else replace(w, number=top))
    return out


def reported(wanted: Wanted, made: Made, desk: Desk, redo_of: int | None = None) -> SpliceReported:
    reason = missing(made.day, made.iron, made.welders, made.made_at, desk)
    return SpliceReported(
        number=wanted.number or 0,
        day=made.day,
        made_at=made.made_at.isoformat(),
        place=wanted.place,
        kind=wanted.kind,
        welders=made.welders,
        iron=made.iron,
        temp_f=made.temp_f if wanted.temp_f is None else wanted.temp_f,
        temp_by=made.temp_by,
        profile=made.profile,
        lot=made.lot,
        redo_of=redo_of,
        late=made.late,
        before_sample=bool(reason),
        no_sample=reason,
    )


def _next_free(desk: Desk, fresh: Sequence[Wanted]) -> int:
    return max([desk.log.highest(), *(w.number or 0 for w in fresh)]) + 1


def _is_same_people(splice: Splice | None, welders: Sequence[str], desk: Desk) -> bool:
    """A known number told again by the same people is a correction (days/README.md, 3); a void one is nobody's."""
    if splice is None or splice.status == "voided":
        return False
    return desk.me == splice.told_by or desk.me in splice.welders or bool(set(welders) & set(splice.welders))


def _correction(wanted: Wanted, made: Made, desk: Desk) -> SpliceCorrected | None:
    """What the second report of a number tells anew. Place and kind, once told, stay when a verdict stands."""
    splice = desk.log.splice(wanted.number or 0)
    if splice is None:
        return None
    told: dict[str, Any] = {"iron": made.iron, "welders": made.welders or None}
    told |= {"temp_f": made.temp_f, "temp_by": made.temp_by}
    kind = wanted.kind if wanted.kind != "unknown" else None
    if splice.status not in DECIDED:
        told |= {"place": wanted.place, "kind": kind}
    elif splice.kind == "unknown":
        told["kind"] = kind
    change = {k: v for k, v in told.items() if v is not None and v != getattr(splice, k)}
    if not change:
        return None
    return SpliceCorrected(number=splice.number, change=change, was={k: getattr(splice, k) for k in change})


def _corrected(mine: Sequence[Wanted], corrections: Sequence[SpliceCorrected]) -> tuple[Say, ...]:
    changed = [c.number for c in corrections]
    same = [w.number for w in mine if w.number not in changed]
    says = [Say("splices.corrected", {"numbers": changed})] if changed else []
    return (*says, *([Say("splices.known", {"numbers": same})] if same else []))


def _common_place(wanted: Sequence[Wanted]) -> str | None:
    places = {w.place for w in wanted}
    return places.pop() if len(places) == 1 else None


def kinds_said(wanted: Sequence[Wanted]) -> list[Say]:
    """ "2 butts", "1 tee" in the order told."""
    counted: dict[str, int] = {}
    for w in wanted:
        counted[w.kind] = counted.get(w.kind, 0) + 1
    return [Say("splices.of_kind", {"n": n, "kind": Term(f"kind.{k}", n)}) for k, n in counted.items()]


def _says(fresh: Sequence[Wanted], made: Made, desk: Desk) -> tuple[Say, ...]:
    if not fresh:
        return ()
    places = list(dict.fromkeys(w.place for w in fresh if w.place))
    values = {
        "numbers": [w.number for w in fresh],
        "kinds": kinds_said(fresh),
        "place": places,
        "welders": names_of(made.welders, desk),
        "iron": made.iron,
        "temp": made.temp_f,
        "temp_by": way_said(made.temp_by),
        "time": made.made_at if made.late else None,
    }
    says = [Say("splices.recorded", values)]
    if not places:
        says.append(Say("splices.where"))
    says += warning(missing(made.day, made.iron, made.welders, made.made_at, desk), made.iron)
    if made.temp_f is not None and (remark := heat_remark(made.temp_f, desk)):
        says.append(remark)
    return tuple(says)


def _complete(fresh: Sequence[Wanted], desk: Desk) -> tuple[Notice, ...]:
    """When a place has all its planned splices, the inspector hears what waits for him there."""
    notices: tuple[Notice, ...] = ()
    for name in dict.fromkeys(w.place for w in fresh if w.place):
        place = desk.log.place(name)
        new = [w for w in fresh if w.place == name]
        total = sum(place.planned.values())
        good = place.made - len(desk.log.splices(place=name, status="rejected"))
        if total and good < total <= good + len(new):
            waiting = sorted({*place.pending, *(w.number or 0 for w in new)})
            notices += notice(desk.judges(), desk, Say("splices.complete", {"place": name, "numbers": waiting}))
    return notices
