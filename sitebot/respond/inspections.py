"""Verdicts: whose count, on which splices, and who hears of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sitebot.acts import Act, Unclear
from sitebot.entries import VerdictGiven, VerdictRelayed
from sitebot.message import Person, Say, Term
from sitebot.record import Splice
from sitebot.respond.desk import Answer, Desk, Notice
from sitebot.respond.findings import findings_said, found_in, is_bad, noted
from sitebot.respond.people import names_of, notice
from sitebot.respond.places import place_of
from sitebot.respond.pours import complete_says
from sitebot.rulebook.amounts import measured

STATUS = {"accept": "accepted", "reject": "rejected"}


@dataclass(frozen=True, slots=True)
class Sorted:
    """The numbers of a verdict by what can be done with them."""

    judged: tuple[Splice, ...] = ()
    unknown: tuple[int, ...] = ()
    voided: tuple[int, ...] = ()
    #: Rejected and already redone: such a weld stays rejected for ever.
    replaced: tuple[Splice, ...] = ()


def answer(act: Act, desk: Desk) -> Answer:
    """Record a verdict, keep a relayed one as relayed, or refuse it."""
    verdict = act.facts.get("verdict")
    if verdict not in STATUS and found_in(act.facts):
        return _findings(act.facts, desk)
    if verdict not in STATUS:
        return Answer((Say("inspections.which_verdict"),), "ask_back", asks=Unclear("verdict"))
    if act.facts.get("relayed") and desk.role != "inspector":
        return _relayed(act.facts, desk)
    if not desk.may_judge:
        return refusal(desk)
    splices = targets(act.facts, desk)
    if splices is None:
        return Answer((Say("inspections.which_splice"),), "ask_back", asks=Unclear("number"))
    if not desk.log.is_kept and not splices:
        return Answer((_blank_say(act.facts, desk),), "record")
    found = sort(splices, verdict, desk)
    if not found.judged and found.replaced and act.facts.get("numbers") == "last":
        # "last one is good" by who last spoke of a weld that is cut out: the one that waits.
        waiting = [s.number for s in desk.log.splices(status="pending", day=desk.day)]
        found = sort(waiting, verdict, desk) if len(waiting) == 1 else found
    if not found.judged:
        return _nothing(found)
    entries = tuple(given(s, act.facts, desk) for s in found.judged)
    numbers = [s.number for s in found.judged]
    return Answer(
        (*_says(numbers, act.facts), *_left_over(found), *complete_says(found.judged, verdict, desk)),
        "record",
        entries=(*noted(numbers, act.facts, desk), *entries),
        notices=_notices(found.judged, act.facts, desk),
        facts={"judged": numbers},
    )


def _findings(facts: Mapping[str, Any], desk: Desk) -> Answer:
    """Findings without a verdict: kept, and the splice waits as before."""
    numbers = targets(facts, desk)
    if not numbers:
        return Answer((Say("inspections.which_splice"),), "ask_back", asks=Unclear("number"))
    known = [n for n in numbers if (s := desk.log.splice(n)) and s.status != "voided"]
    if not known:
        return Answer((Say("inspections.unknown", {"numbers": numbers}),), "ask_back")
    waits = [n for n in known if (s := desk.log.splice(n)) and s.status == "pending"]
    values = {"numbers": known, "found": findings_said(found_in(facts))}
    says = [Say("findings.noted", values)]
    if waits:
        says.append(Say("findings.no_verdict", {"names": [p.name for p in desk.judges() if p.id != desk.me]}))
    return Answer(tuple(says), "record", entries=noted(known, facts, desk), facts={"numbers": known})


def refusal(desk: Desk) -> Answer:
    """Nobody passes his own weld, and only the inspector's word is a verdict."""
    names = [p.name for p in desk.judges()]
    return Answer((Say("inspections.only", {"names": names}),), "refuse")


def targets(facts: Mapping[str, Any], desk: Desk) -> list[int] | None:
    """Numbers a verdict speaks of; None where it does not say and nothing came before."""
    said = facts.get("numbers")
    skip = {int(n) for n in facts.get("except") or [] if str(n).isdigit()}
    if isinstance(said, list):
        return [int(n) for n in said if int(n) not in skip]
    place = place_of(facts.get("place"), desk)
    joint = facts.get("joint")
    if said == "redo":
        redone = [s.number for s in desk.log.splices(place=place, status="pending") if s.redo_of]
        return redone if len(redone) == 1 else None
    if said == "last" or (said is None and place is None):
        return _last(desk)
    if not desk.log.is_kept:
        return []
    pending = desk.log.splices(place=place, status="pending", day=desk.day if said == "today" else None)
    return [s.number for s in pending if s.number not in skip and (joint in (None, "unknown", "mixed", s.kind))]


def _blank_say(facts: Mapping[str, Any], desk: Desk) -> Say:
    """Without a record behind it: the verdict and the place it speaks of."""
    key = "inspections.accepted_at" if facts["verdict"] == "accept" else "inspections.rejected_at"
    defect = Term(f"defect.{facts['defect']}") if facts.get("defect") else None
    return Say(key, {"place": place_of(facts.get("place"), desk), "defect": defect, "except": facts.get("except")})


def _last(desk: Desk) -> list[int] | None:
    """The splices the same person spoke of last, else the newest one that waits."""
    for act in desk.last:
        if numbers := act.facts.get("made") or act.facts.get("judged") or act.facts.get("numbers"):
            return [int(n) for n in numbers if isinstance(n, int)]
    pending = desk.log.splices(status="pending", day=desk.day)
    return [pending[-1].number] if pending else (None if desk.log.is_kept else [])


def sort(numbers: Sequence[int], verdict: str, desk: Desk) -> Sorted:
    """What of these can be judged."""
    judged, unknown, voided, replaced = [], [], [], []
    for number in dict.fromkeys(numbers):
        splice = desk.log.splice(number)
        if splice is None:
            unknown.append(number)
        elif splice.status == "voided":
            voided.append(number)
        elif splice.status == "rejected" and verdict == "accept" and desk.log.redos_of(number):
            replaced.append(splice)
        else:
            judged.append(splice)
    return Sorted(tuple(judged), tuple(unknown), tuple(voided), tuple(replaced))


def given(splice: Splice, facts: Mapping[str, Any], desk: Desk) -> VerdictGiven:
    was = splice.status if splice.status in STATUS.values() else None
    return VerdictGiven(
        number=splice.number,
        verdict=str(facts["verdict"]),
        defect=facts.get("defect"),
        value=facts.get("value"),
        unit=facts.get("unit"),
        self_inspected=desk.lead_inspects,
        corrects=was if was != STATUS[str(facts["verdict"])] else None,
    )


def _says(numbers: Sequence[int], facts: Mapping[str, Any]) -> tuple[Say, ...]:
    values: dict[str, object] = {"numbers": list(numbers), "n": len(numbers), "splices": Term("splice", len(numbers))}
    found = found_in(facts)
    values["found"] = findings_said(found)
    if facts["verdict"] == "accept":
        odd = (Say("findings.odd"),) if is_bad(found) else ()
        return (Say("inspections.accepted", values), *odd)
    if facts.get("defect"):
        values["defect"] = Term(f"defect.{facts['defect']}")
    if facts.get("value") is not None:
        values["value"] = _measure(facts)
    return (Say("inspections.rejected", values),)


def _measure(facts: Mapping[str, Any]) -> str:
    """A measure as people write it: 3/32 in, 2 mm."""
    try:
        return str(measured(facts["value"], facts.get("unit")))
    except ValueError:
        return f"{facts['value']} {facts.get('unit') or ''}".strip()


def _left_over(found: Sorted) -> tuple[Say, ...]:
    says = []
    if found.unknown:
        says.append(Say("inspections.unknown", {"numbers": list(found.unknown)}))
    if found.voided:
        says.append(Say("inspections.voided", {"numbers": list(found.voided)}))
    if found.replaced:
        says.append(Say("inspections.replaced", {"numbers": [s.number for s in found.replaced]}))
    return tuple(says)


def _nothing(found: Sorted) -> Answer:
    left = _left_over(found)
    return Answer(left or (Say("inspections.nothing_waits"),), "answer" if not left else "ask_back")


def _relayed(facts: Mapping[str, Any], desk: Desk) -> Answer:
    """Kept as told by another; the splice stays pending and the one who may is asked."""
    numbers = targets(facts, desk) or []
    known = [n for n in numbers if ((s := desk.log.splice(n)) and s.status == "pending") or not desk.log.is_kept]
    entries = tuple(
        VerdictRelayed(
            number=n,
            verdict=facts["verdict"],
            defect=facts.get("defect"),
            value=facts.get("value"),
            unit=facts.get("unit"),
        )
        for n in known
    )
    judges = [p.name for p in desk.judges()]
    values = {"numbers": known, "names": judges, "verdict": Term(f"verdict.{facts['verdict']}")}
    if desk.log.is_kept and not known:
        return Answer((Say("inspections.unknown", {"numbers": numbers}),), "ask_back")
    ask = Say("inspections.confirm", {**values, "teller": desk.person.name if desk.person else ""})
    return Answer(
        (Say("inspections.relayed", values),),
        "record",
        entries=entries,
        notices=notice(desk.judges(), desk, ask),
        facts={"numbers": numbers} if numbers else {},
    )


def _notices(judged: Sequence[Splice], facts: Mapping[str, Any], desk: Desk) -> tuple[Notice, ...]:
    """On a rejection the lead hears; where the lead rejected, the crew; a corrected verdict is told too."""
    changed = [s for s in judged if s.status in STATUS.values() and s.status != STATUS[facts["verdict"]]]
    if facts["verdict"] == "accept":
        if not changed:
            return ()
        tell = Say("inspections.now_accepted", {"numbers": [s.number for s in changed]})
        return notice(desk.with_role("lead"), desk, tell)
    numbers = [s.number for s in judged]
    values: dict[str, object] = {
        "numbers": numbers,
        "place": list(dict.fromkeys(s.place for s in judged if s.place)),
        "by": desk.person.name if desk.person else "",
        "welders": names_of({w for s in judged for w in s.welders}, desk),
    }
    if facts.get("defect"):
        values["defect"] = Term(f"defect.{facts['defect']}")
    return notice(_who_hears(judged, desk), desk, Say("inspections.tell_rejected", values))


def _who_hears(judged: Sequence[Splice], desk: Desk) -> tuple[Person, ...]:
    if desk.role != "lead":
        return desk.with_role("lead")
    welders = {w for s in judged for w in s.welders}
    crew = desk.with_role("crew")
    return tuple(p for p in crew if p.id in welders) or crew
