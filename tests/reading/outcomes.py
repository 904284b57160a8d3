# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""What the assistant would do about a reading, by the conventions of tests/messages/README.md: for measuring the reader alone."""

from __future__ import annotations

from sitebot.acts import Act, Reading
from sitebot.understand.quantities import FEET_FOR

RECORDS = {
    "report_splices",
    "report_inspection",
    "report_sample",
    "report_iron",
    "report_rework",
    "report_damage",
    "release_pour",
    "amend",
}
KEPT = RECORDS | {"plan_day", "plan_pour", "set_crew", "ack", "opt_out", "opt_in", "language", "teach"}
JOB_DATA = {"ask_tally", "ask_splice", "ask_pour", "ask_crew", "ask_report", "ask_day", "ask_waiting"}
SHIFTED = {"bulb_misaligned", "ribs_misaligned"}
CERTAIN = {"porosity", "bubbles", "char", "overlap", "separation", "other", "runout"}


def said(reading: Reading, who: str) -> dict:
    """The line ``sitebot read`` would print, without a reply."""
    acts = list(reading.acts)
    if reading.unclear is not None:
        first = acts or [a for choice in reading.unclear.choices[:1] for a in choice]
        return {"outcome": "ask_back", "acts": [_line(a) for a in first], "unclear": reading.unclear.about}
    acts = [_judged(a) for a in acts]
    return {"outcome": outcome(acts, who), "acts": [_line(a) for a in acts]}


def _line(act: Act) -> dict:
    return {"act": act.name, "facts": dict(act.facts)}


def outcome(acts: list[Act], who: str) -> str:
    """Record, answer, refuse, ignore or ask back, from the chief act."""
    if not acts:
        return "ignore"
    act = acts[0]
    if act.name == "unsafe_plan":
        return "refuse"
    if who == "stranger" and act.name in (KEPT - {"opt_out"}) | JOB_DATA:
        return "refuse"
    if (
        act.name == "report_inspection"
        and who != "inspector"
        and not act.facts.get("relayed")
        and act.facts.get("verdict") == "accept"
    ):
        return "refuse"
    if act.name == "amend" and who in {"crew", "lead"} and "verdict" in act.facts.get("change", {}):
        return "refuse"
    if act.name == "off_topic":
        return "ignore"
    if act.facts.get("verdict") == "need_more" or "number_deg" in act.facts:
        return "ask_back"
    return "record" if act.name in KEPT else "answer"


def _judged(act: Act) -> Act:
    if act.name != "ask_acceptance" or "verdict" in act.facts:
        return act
    return Act(act.name, {**act.facts, "verdict": verdict(dict(act.facts))}, act.confidence)


def verdict(f: dict) -> str:
    """The limits of the conventions, applied to the facts of a question."""
    defect, value, unit = f.get("defect"), f.get("value"), f.get("unit")
    if defect is None:
        return "accept" if f.get("present") is False else "need_more"
    if defect == "tensile":
        return "need_more" if value is None or unit != "%" else "accept" if value >= 80 else "reject"
    if defect in CERTAIN:
        return "reject"
    if defect in SHIFTED:
        return "accept" if value and unit in FEET_FOR and _inches(value, unit) <= 0.0625 + 0.0005 else "reject"
    if defect == "thin_bead":
        return "accept" if value and _inches(value, unit) >= 0.118 else "reject"
    return _by_share(f, value, unit)


def _inches(value: float, unit: str | None) -> float:
    return value * FEET_FOR.get(unit or "in", 1 / 12) * 12


def _by_share(f: dict, value: float | None, unit: str | None) -> str:
    if value is None:
        return "need_more"
    if unit == "%":
        return "accept" if value <= 15 else "reject"
    thickness = f.get("thickness")
    deep = _inches(value, unit)
    over = deep > 0.0635
    if f["defect"] == "misaligned":
        over = False
    if thickness is None:
        return "reject" if over else "need_more"
    share = deep / _inches(thickness, f.get("thickness_unit", unit))
    return "reject" if over or share > 0.15 + 1e-6 else "accept"
