# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Irons: what happened to one, which one, at what heat and hour. No event is taken for granted."""

from __future__ import annotations

import itertools
import re
from typing import Any

from sitebot.acts import Act
from sitebot.understand import lexicon
from sitebot.understand.clauses import clauses, part
from sitebot.understand.context import Context
from sitebot.understand.facts import words
from sitebot.understand.facts.around import after, before
from sitebot.understand.marks import Mark, Text
from sitebot.understand.mood import is_planned


def iron_event(text: Text) -> str:
    """The event of an iron that a text tells, or nothing."""
    row = words.pattern("not_yet").sub("", text.row()[0])
    anew = words.says("cover_thing", row) and words.says("cover_anew", row)
    wanted = words.says("cover_wanted", row)
    if not wanted and (anew or (text.has("event.cover_changed") and text.has("cover_noun"))):
        return "cover_changed"
    if re.search(r" (replug\w*|plugged (it )?back|back on|juice is back|just did it) ", row):
        return "plugged_in" if "just did it" not in row else "unplugged"
    if _told("fault", row):
        return "fault"
    if (_told("unplugged", row) and not re.search(r" (not|nobody) unplugged ", row)) or _OFF.search(row):
        return "unplugged"
    heats = text.of("temp")
    if _told("plugged_in", row) and not words.says("not_plugged", row) and not (heats and not _PLUGGED.search(row)):
        return "plugged_in"
    if _told("hot", row) and not re.search(r" (not|no) (hot|caliente) ", row):
        return "hot"
    return "reading" if heats else ""


_OFF = re.compile(
    r" (irons?|<iron>|it is|she is|is|both|all|everything|<iron> and <n>|^off) off |^ off $|^ (irons?|<iron>) (are |is |r )?off|(irons?|<iron>) (are|is) (now )?off"
)
#: Of a text with a heat these say that it was plugged in all the same.
_PLUGGED = re.compile(r" (plug\w*|conect\w*|enchuf\w*|prend\w*|encend\w*) ")


def _told(event: str, row: str) -> bool:
    return lexicon.pattern(f"event.{event}").search(row) is not None


def told_event(text: Text) -> str:
    """The event with its own words first: a new cover, then a fault; else what the lexicon says, or nothing."""
    row = words.pattern("not_yet").sub("", text.row()[0])
    known = iron_event(text)
    if (
        known in {"", "reading", "hot", "plugged_in"}
        and words.says("iron_fault", row)
        and not words.says("no_fault", row)
    ):
        return "fault"
    if known:
        return known
    return "plugged_in" if re.search(r" (irons?|<iron>) (is |are |r |went |back )?(in|on) ", row) else ""


def report_iron(text: Text, context: Context) -> list[Act]:
    """What happened to an iron; two irons, or two things that happened to one, are two acts."""
    acts = _by_piece(text, context)
    return acts if len(acts) > 1 else _each(_one_event(text), text)


def _each(acts: list[Act], text: Text) -> list[Act]:
    """ "irons 1 and 2 plugged in": one event of each iron of a list."""
    irons = [m for m in text.of("iron") if m.value != "all"]
    listed = all(b.start - a.end == 1 for a, b in itertools.pairwise(irons))
    if len(acts) != 1 or len(irons) < 2 or not listed or acts[0].facts.get("event") not in {*_PLAIN_EVENTS, "hot"}:
        return acts
    return [Act("report_iron", {**acts[0].facts, "iron": str(m.value)}) for m in irons]


def _by_piece(text: Text, context: Context) -> list[Act]:
    """ "enchufe la 2. la 1 no prende": the events of the clauses, where irons or events differ."""
    acts: list[Act] = []
    for start, end in clauses(text):
        piece = part(text, start, end)
        act = _one_event(piece)[0]
        event, iron = act.facts.get("event"), act.facts.get("iron")
        if event not in _PLAIN_EVENTS or is_planned(piece) or words.says("iron_unchanged", piece.row()[0]):
            continue
        before = acts[-1].facts if acts else {}
        if not iron and before.get("iron"):
            act = Act(act.name, {**act.facts, "iron": before["iron"]})
        if not any(a.facts.get("event") == event and a.facts.get("iron") == act.facts.get("iron") for a in acts):
            acts.append(act)
    return acts if _are_two(acts) else []


#: Events that stand for themselves; a heat or "hot" goes with the others.
_PLAIN_EVENTS = {"plugged_in", "unplugged", "cover_changed", "fault"}


def _are_two(acts: list[Act]) -> bool:
    """A fault and the unplugging that follows from it are one matter of one iron."""
    irons, events = {a.facts.get("iron") for a in acts}, {a.facts["event"] for a in acts}
    return len(acts) > 1 and (len(irons - {None}) > 1 or "cover_changed" in events)


def _one_event(text: Text) -> list[Act]:
    """The event of a text that tells one; readings of two irons are two acts."""
    event = told_event(text)
    pairs = _readings(text)
    if event in {"reading", "hot"} and len(pairs) > 1:
        at = text.of("time")
        return [
            Act("report_iron", {"iron": i, "event": "reading", "temp_f": t} | ({"at": at[0].value} if at else {}))
            for i, t in pairs
        ]
    facts: dict[str, Any] = {"event": event} if event else {}
    iron = _iron(text)
    if iron:
        facts["iron"] = iron
    heats = [m for m in text.of("temp") if not (event in {"plugged_in", "unplugged"} and _compact_hour(m, event))]
    if heats:
        facts["temp_f"] = heats[0].value
    hour = _hour(text, event)
    if hour:
        facts["at"] = hour
    return [Act("report_iron", facts)]


def _iron(text: Text) -> str:
    irons = text.of("iron")
    row = text.row()[0]
    if irons and irons[0].value != "all":
        return str(irons[0].value)
    if irons or words.says("all_of_them", row) or words.says("irons_bare", row):
        return "all"
    for mark in text.of("n"):
        signed = re.search(r"(#|number|no|no \.|numero|la|el|on|plugged|put|at|en la|de la)$", before(text, mark.start))
        if signed and isinstance(mark.value, int) and mark.value <= 12 and not _is_hour(text, mark):
            return str(mark.value)
    return ""


def _readings(text: Text) -> list[tuple[str, int]]:
    """Irons with the heat said after each, or before each where a heat leads."""
    heats = text.of("temp")
    irons = [m for m in text.of("iron", "n") if str(m.value).isdigit() is False or int(m.value) <= 12]
    if len(heats) < 2 or not irons:
        return []
    leads = heats[0].start < irons[0].start
    pairs: list[tuple[str, int]] = []
    for i, heat in enumerate(heats):
        low = heat.end if leads else (heats[i - 1].end if i else 0)
        high = (heats[i + 1].start if i + 1 < len(heats) else len(text.tokens)) if leads else heat.start
        near = [m for m in irons if low <= m.start < high]
        if not near:
            return []
        pairs.append((str((near[0] if leads else near[-1]).value), heat.value))
    return pairs


def _hour(text: Text, event: str) -> str:
    """The hour of it: a time, "six sharp", or 415 where the iron was plugged in or unplugged."""
    if times := text.of("time"):
        return _afternoon(times[0], event)
    if spoken := _spoken(text, event):
        return spoken
    if event not in {"plugged_in", "unplugged"}:
        return ""
    for mark in text.of("n", "temp"):
        if compact := _compact_hour(mark, event):
            return compact
        if mark.kind == "n" and _is_hour(text, mark):
            return _clock(int(mark.value), 0, event)
    return ""


def _spoken(text: Text, event: str) -> str:
    """ "conecté el fierro seis y diez": an hour and its minutes in words."""
    for hour, minute in itertools.pairwise(text.of("n")):
        joined = text.word(hour.end) == "y" and minute.start == hour.end + 1
        said = joined and text.tokens[hour.start].spelled and text.tokens[minute.start].spelled
        if said and event in {"plugged_in", "unplugged"} and 1 <= hour.value <= 12 and minute.value % 5 == 0:
            return _clock(int(hour.value), int(minute.value), event)
    return ""


def _afternoon(mark: Mark, event: str) -> str:
    """ "desenchufamos a las 5": an iron comes off in the afternoon where nothing says the morning."""
    hour, minute = (int(p) for p in str(mark.value).split(":"))
    said = f" {mark.raw.lower()} "
    if event != "unplugged" or hour >= 7 or words.says("in_the_morning", said) or re.search(r"\b0\d", said):
        return str(mark.value)
    return _clock(hour, minute, event)


def _is_hour(text: Text, mark: Mark) -> bool:
    if not isinstance(mark.value, int) or not 1 <= mark.value <= 12:
        return False
    return words.begins("oclock", after(text, mark.end)) or words.ends("at_hour", before(text, mark.start))


def _compact_hour(mark: Mark, event: str) -> str:
    """ "415", "1640": an hour written without its colon."""
    value = int(mark.raw) if mark.raw.isdigit() else 0
    return _clock(value // 100, value % 100, event) if 100 <= value < 2400 and value % 100 < 60 else ""


def _clock(hour: int, minute: int, event: str) -> str:
    """Irons come off in the afternoon and go on in the morning."""
    late = hour < 12 and ((event == "unplugged" and hour < 7) or hour <= 4)
    return f"{hour + 12 if late else hour:02d}:{minute:02d}"
