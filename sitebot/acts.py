"""What a message can mean. Names of acts and facts are those of tests/messages/README.md.

An act says nothing yet about who may do it or whether it is so: respond/ decides that with the log at hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

REPORTS = frozenset(
    {
        "report_splices",
        "report_inspection",
        "report_sample",
        "report_iron",
        "report_rework",
        "report_damage",
        "report_photo",
        "report_weather",
        "release_pour",
        "amend",
    }
)
QUESTIONS = frozenset(
    {
        "ask_cut",
        "ask_acceptance",
        "ask_practice",
        "ask_safety",
        "ask_power",
        "ask_ready",
        "ask_tally",
        "ask_splice",
        "ask_pour",
        "ask_crew",
        "ask_report",
        "ask_why",
        "ask_more",
        "ask_day",
        "ask_waiting",
    }
)
OTHERS = frozenset(
    {
        "plan_splices",
        "plan_day",
        "plan_pour",
        "plan_place",
        "set_crew",
        "ack",
        "help",
        "greeting",
        "opt_out",
        "opt_in",
        "language",
        "off_topic",
        "unsafe_plan",
        "teach",
    }
)
ACTS = REPORTS | QUESTIONS | OTHERS


@dataclass(frozen=True, slots=True)
class Act:
    """One thing a message does, with the facts it gives and how sure the reader is (0 to 1)."""

    name: str
    facts: Mapping[str, Any] = field(default_factory=dict)
    confidence: float = 1.0


@dataclass(frozen=True, slots=True)
class Unclear:
    """What the reader could not settle: the readings to choose from, each a list of acts, likeliest first.

    ``about`` names the question to ask (a key of words/<language>/replies/questions.yaml); ``values`` fills it.
    """

    about: str
    choices: tuple[tuple[Act, ...], ...] = ()
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a text means: acts in the order of their weight, or what is unclear; ``trace`` says why."""

    acts: tuple[Act, ...] = ()
    unclear: Unclear | None = None
    #: ``question``, ``report``, ``plan``, ``hypothesis`` ... as seen for the whole text.
    mood: str = ""
    trace: tuple[tuple[str, str], ...] = ()
    #: How far the chief act is ahead of the next; None: not told.
    margin: float | None = None
