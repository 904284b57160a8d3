"""Which splices a correction speaks of: those it names, else those the same person reported last. Changes nothing."""

from __future__ import annotations

from sitebot.acts import Act
from sitebot.respond.desk import Desk

#: After these a bare number corrects something else.
OTHER_MATTERS = {"report_damage", "plan_day", "plan_pour", "release_pour", "set_crew", "report_sample"}


def is_elsewhere(act: Act, desk: Desk) -> bool:
    """ "sorry, 3" right after a damage or a plan is no count of an earlier report."""
    latest = desk.last[0].name if desk.last else ""
    return act.facts.get("target") in (None, "last") and latest in OTHER_MATTERS


def target_numbers(act: Act, desk: Desk) -> list[int] | None:
    """The numbers a correction speaks of: the one named, else those of the sender's last report."""
    target = act.facts.get("target")
    if isinstance(target, list):
        return [int(n) for n in target]
    if target not in (None, "last"):
        return [int(target)]
    for act in desk.last:
        if act.name in ("report_splices", "report_rework", "amend", "report_inspection"):
            numbers = [int(n) for n in act.facts.get("made") or act.facts.get("numbers") or () if isinstance(n, int)]
            if numbers:
                return numbers
    return None if desk.log.is_kept else []
