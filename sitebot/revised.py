"""A message changed or taken back after it was recorded: what that asks of the record. Nothing is recorded here.

The record only grows. A plain difference becomes corrections, which go the ordinary road as if they had been texted;
anything else is a question.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitebot.acts import Act, Reading, Unclear
from sitebot.message import Say
from sitebot.record import Line, Splice
from sitebot.respond import Answer, Desk

#: Facts of a report that a correction can name as they are.
PLAIN = ("joint", "place", "welders", "iron", "temp_f", "temp_by", "profile", "lot", "at")
#: Facts that are dealt out among splices: which of them changed is not plain.
DEALT = ("joints", "places", "date", "clash")
REPORTS = ("report_splices", "report_rework")
#: "No" to a question of ours: nothing happens, and it settles no reminder.
LEAVE = Act("ack", {"what": "left"})

Facts = Mapping[str, Any]


def edited(old: Reading, new: Reading, caused: Sequence[Line], desk: Desk) -> Reading | Answer | None:
    """A text was changed after it was recorded: ``caused`` are its entries. None: it still says the same."""
    splices, judged = made_by(caused, desk), judged_by(caused, desk)
    if splices and not new.unclear and not _is_report(new):
        return _void(splices)
    acts = None if new.unclear else _corrections(old, new, splices, judged)
    if acts is None:
        return Answer((Say("edits.ask", {"numbers": [s.number for s in splices or judged]}),), "ask_back")
    return Reading(acts=tuple(acts)) if acts else None


def taken_back(caused: Sequence[Line], desk: Desk) -> Answer | None:
    """A message was deleted: what it brought stays until its writer says so."""
    if splices := made_by(caused, desk):
        return _void(splices)
    if judged := judged_by(caused, desk):
        numbers = [s.number for s in judged]
        back = Act("amend", {"target": numbers, "change": {"verdict": "pending"}})
        return _asked("edits.take_back", numbers, back)
    return Answer((Say("edits.stays"),), "ask_back") if caused else None


def _void(splices: Sequence[Splice]) -> Answer:
    numbers = [s.number for s in splices]
    return _asked("edits.void", numbers, Act("amend", {"target": numbers, "void": True}))


def _asked(key: str, numbers: list[int], act: Act) -> Answer:
    asks = Unclear("void", ((act,), (LEAVE,)), {"numbers": numbers})
    return Answer((Say(key, {"numbers": numbers}),), "ask_back", asks=asks)


def made_by(caused: Sequence[Line], desk: Desk) -> list[Splice]:
    """The splices that entries brought, as they stand now; void ones are gone."""
    found = [desk.log.splice(line.body["number"]) for line in caused if line.kind == "SpliceReported"]
    return [s for s in found if s is not None and s.status != "voided"]


def judged_by(caused: Sequence[Line], desk: Desk) -> list[Splice]:
    """The splices whose present verdict came with these entries."""
    verdicts = {line.body["number"]: line.body["verdict"] for line in caused if line.kind == "VerdictGiven"}
    status = {"accept": "accepted", "reject": "rejected"}
    found = [(desk.log.splice(number), status.get(verdict)) for number, verdict in verdicts.items()]
    return [s for s, stands in found if s is not None and s.status == stands]


def _is_report(reading: Reading) -> bool:
    return bool(reading.acts) and (reading.acts[0].name.startswith("report_") or reading.acts[0].name == "amend")


def _corrections(old: Reading, new: Reading, splices: Sequence[Splice], judged: Sequence[Splice]) -> list[Act] | None:
    """The corrections between two wordings; None where they are not plain."""
    if not new.acts or old.acts[1:] != new.acts[1:]:
        return None
    act = new.acts[0]
    before = old.acts[0] if old.acts else None
    if splices and act.name in REPORTS:
        said = before.facts if before is not None and before.name == act.name else None
        return _of_splices(said, act.facts, splices)
    if judged and not splices and act.name == "report_inspection":
        return _of_verdicts(act.facts, judged)
    return None


def _of_splices(said: Facts | None, facts: Facts, splices: Sequence[Splice]) -> list[Act] | None:
    """``said`` is what the wording before told; None where it told nothing by itself ("2 more")."""
    told = _as_recorded(splices) if said is None else said
    if any((said or {}).get(k) != facts.get(k) for k in DEALT):
        return None
    if said is not None and any(told.get(k) is not None and facts.get(k) is None for k in PLAIN):
        return None
    change = {k: facts[k] for k in PLAIN if facts.get(k) is not None and facts[k] != told.get(k)}
    numbers = [s.number for s in splices]
    counted = _counted(facts, numbers)
    if counted is None:
        return None
    rest = [Act("amend", {"target": "last" if counted else numbers, "change": change})] if change else []
    return [*counted, *rest]


def _as_recorded(splices: Sequence[Splice]) -> Facts:
    first = splices[0]
    return {"joint": first.kind, "place": first.place, "iron": first.iron, "temp_f": first.temp_f}


def _counted(facts: Facts, numbers: list[int]) -> list[Act] | None:
    """The correction of count or number; empty where both stand, None where it is not plain."""
    named = facts.get("numbers")
    if named and sorted(named) != sorted(numbers):
        is_one = len(named) == len(numbers) == 1
        return [Act("amend", {"target": numbers[0], "change": {"number": named[0]}})] if is_one else None
    count = len(named) if named else facts.get("count")
    if not isinstance(count, int):
        return None
    return [Act("amend", {"target": numbers, "change": {"count": count}})] if count != len(numbers) else []


def _of_verdicts(facts: Facts, judged: Sequence[Splice]) -> list[Act] | None:
    numbers = [s.number for s in judged]
    if facts.get("numbers") != numbers or facts.get("verdict") not in ("accept", "reject"):
        return None
    change = {k: facts[k] for k in ("verdict", "defect", "value", "unit") if facts.get(k) is not None}
    stands = {"verdict": {"accepted": "accept"}.get(judged[0].status, "reject"), "defect": judged[0].defect}
    if all(stands.get(k) == v for k, v in change.items()):
        return []
    return [Act("amend", {"target": numbers, "change": change})]
