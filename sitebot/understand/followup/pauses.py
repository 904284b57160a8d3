"""Work stopped for the weather and gone on with: "its pouring, everybody off the deck", "ya escampo, otra vez".

What else the text reports stays; whether an iron is on, and who must hear of it, is not decided here.
"""

from __future__ import annotations

from sitebot.acts import REPORTS, Act
from sitebot.understand.context import Context
from sitebot.understand.followup.talk import asks
from sitebot.understand.followup.words import says
from sitebot.understand.marks import Text
from sitebot.understand.mood import is_question, is_supposed

#: Who tells more than this tells more than a stop.
LONGEST = 25
_OFF = ("unplugged", "fault")


def told(text: Text, row: str, context: Context, acts: list[Act]) -> list[Act] | None:
    """A stop with its weather, or that it is over; for the rest of the day where that is said."""
    if context.role == "stranger" or len(text.tokens) > LONGEST or not says("weather", row):
        return None
    if asks(text) or is_question(text) or is_supposed(text) or says("not_now", row) or text.of("date"):
        return None
    if any(a.name == "plan_day" and set(a.facts) & {"no_work", "start", "end", "snooze_min"} for a in acts):
        return None
    day = _day(row)
    if day is None:
        return None
    kept = [a for a in acts if a.name in REPORTS and _is_own(a, row)]
    return [*kept, Act("plan_day", day)]


def _day(row: str) -> dict[str, object] | None:
    if says("work_again", row):
        return {"paused": False}
    if says("day_over", row):
        return {"no_work": True, "date": "today", "paused": True}
    return {"paused": True} if says("stop_work", row) else None


def _is_own(act: Act, row: str) -> bool:
    """A report with facts of its own; "shut it down" is an order, and no word that an iron is off."""
    if act.name == "report_iron":
        if act.facts.get("event") == "plugged_in":
            return not says("still_on", row)
        return act.facts.get("event") in _OFF and says("iron_off", row)
    return act.name in ("report_splices", "report_inspection", "report_sample") and bool(act.facts)
