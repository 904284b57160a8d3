"""What an inspection found item by item: look, bend test, laboratory. The verdict is another matter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sitebot.entries import FindingNoted
from sitebot.message import Say, Term
from sitebot.respond.desk import Desk

ITEMS = ("bulb", "ribs", "alignment", "bond", "bubbles", "porosity", "char", "bead", "overlap")
RESULTS = ("ok", "bad")
#: Minutes nobody waits longer for a splice to cool; shares of the parent's strength [%].
COOLED_MIN, LAB_PERCENT = (0.0, 2880.0), (0.0, 200.0)


def found_in(facts: Mapping[str, Any]) -> dict[str, Any]:
    """The findings among the facts of an inspection, those that make sense."""
    found: dict[str, Any] = {k: facts[k] for k in ("visual", "bend") if facts.get(k) in RESULTS}
    checks = facts.get("checks") or {}
    if kept := {k: v for k, v in checks.items() if k in ITEMS and v in RESULTS}:
        found["checks"] = kept
    for name, (low, high) in (("cooled_min", COOLED_MIN), ("lab_percent", LAB_PERCENT)):
        if isinstance(facts.get(name), int | float) and low <= facts[name] <= high:
            found[name] = float(facts[name])
    if facts.get("lab_no"):
        found["lab_no"] = str(facts["lab_no"])[:40]
    return found


def noted(numbers: Sequence[int], facts: Mapping[str, Any], desk: Desk) -> tuple[FindingNoted, ...]:
    """An entry a splice; none where nothing was found."""
    found = found_in(facts)
    return tuple(FindingNoted(number=n, by_judge=desk.may_judge, **found) for n in numbers) if found else ()


def findings_said(found: Mapping[str, Any]) -> list[Say | Term]:
    """Findings as a reply lists them."""
    said: list[Say | Term] = [Term(f"found.{k}_{found[k]}") for k in ("visual", "bend") if found.get(k)]
    said += [Say(f"findings.{v}", {"item": Term(f"item.{k}")}) for k, v in (found.get("checks") or {}).items()]
    numbers = {k: found[k] for k in ("cooled_min", "lab_no", "lab_percent") if found.get(k) is not None}
    return said + [Say(f"findings.{k}", {"value": v}) for k, v in numbers.items()]


def is_bad(found: Mapping[str, Any]) -> bool:
    return "bad" in (found.get("visual"), found.get("bend"), *(found.get("checks") or {}).values())
