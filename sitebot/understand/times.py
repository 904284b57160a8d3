# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Clock times, as they are texted: "quarter to 5", "a las 3 y media", "plugged 610"; each becomes "HH:MM". Days: dates.py."""

from __future__ import annotations

import re

from sitebot.understand.dates import mark_days, numbered_row
from sitebot.understand.marks import Text

_PM_WORDS = {"pm", "p", "tarde", "afternoon", "evening", "noche", "night"}
_AM_WORDS = {"am", "morning", "manana", "madrugada"}
#: Words before a bare number that make it a time of day.
_AT = {"at", "@", "since", "till", "til", "until", "by", "around", "about", "past", "las", "desde", "tipo", "to"}
_SPOKEN = re.compile(
    r"(?<= )(?:(?:at )?(?P<quarter>quarter|ten|five|twenty|<num>) (?P<way>past|to|til|till|of|after) (?P<hour><num>)"
    r"|half (?P<half><num>)|(?P<noon>noon|mediodia|midnight))(?= )"
)


#: A number behind these is a splice's, whatever the day's part behind it.
_NAMING = {"la", "el", "#", "number", "splice"}


def _clock(hour: int, minute: int, half: str) -> str | None:
    if half == "pm" and hour < 12:
        hour += 12
    if half == "am" and hour == 12:
        hour = 0
    if half == "" and 1 <= hour <= 4:
        hour += 12
    return f"{hour:02d}:{minute:02d}" if hour < 24 and minute < 60 else None


def _half(text: Text, at: int) -> tuple[str, int]:
    """am or pm said after a time, and how many tokens that takes."""
    word = text.word(at)
    if word in {"a", "p"} and text.word(at + 1) == "." and text.word(at + 2) in {"m"}:
        return ("am" if word == "a" else "pm"), 3
    if word in {"am", "pm"}:
        return word, 1
    if word in {"hrs", "hours", "h"}:
        return "24", 1
    for size, lead in ((3, ("de", "la")), (3, ("in", "the")), (2, ("this",)), (3, ("de", "esta")), (3, ("at", "the"))):
        if all(text.word(at + i) == w for i, w in enumerate(lead)):
            last = text.word(at + size - 1)
            if last in _PM_WORDS:
                return "pm", size
            if last in _AM_WORDS:
                return "am", size
    return "", 0


def mark_times(text: Text) -> None:
    """Lay marks over clock times, then over days."""
    for at, token in enumerate(text.tokens):
        if text.free(at):
            _written(text, at) if token.form == "clock" else _bare(
                text, at
            ) if token.value is not None and token.form != "fraction" else None
    _spoken(text)
    mark_days(text)


def _add(text: Text, start: int, end: int, hour: int, minute: int, half: str) -> bool:
    said = _clock(hour, minute, half)
    if said is None:
        return False
    while text.word(start - 1) in {"las", "la", "a", "at", "@", "son"} and text.free(start - 1):
        if text.word(start - 1) == "la" and text.word(start - 2) != "a":
            break
        start -= 1
    text.add("time", start, end, said)
    return True


def _written(text: Text, at: int) -> None:
    hour, minute = (int(p) for p in re.split(r"[:hH]", text.tokens[at].raw))
    half, size = _half(text, at + 1)
    padded = text.tokens[at].raw.startswith("0")
    _add(text, at, at + 1 + size, hour, minute, half or ("24" if padded or hour > 12 else ""))


def _bare(text: Text, at: int) -> None:
    token = text.tokens[at]
    if text.word(at - 1) == "at" and text.word(at - 2) in {"look", "looked", "looking"}:
        return
    value = int(token.value or 0)
    half, size = _half(text, at + 1)
    if text.word(at + 1) == "this" and text.word(at - 1) in _NAMING and text.word(at - 2) != "a":
        return  # "rehice la 10 this morning"
    digits = token.raw if token.raw.isdigit() else str(value)
    if len(digits) == 4 and digits.startswith("0") and value % 100 < 60:
        _add(text, at, at + 1 + size, value // 100, value % 100, "24")
    elif text.word(at + 1) in {"oclock", "o"} and value <= 12:
        more = 2 if text.word(at + 1) == "o" else 1
        half, size = _half(text, at + 1 + more)
        _add(text, at, at + 1 + more + size, value, 0, half)
    elif half in {"am", "pm"} and value <= 12:
        _add(text, at, at + 1 + size, value, 0, half)
    elif half in {"am", "pm"} and 100 <= value <= 1259:
        _add(text, at, at + 1 + size, value // 100, value % 100, half)
    elif _said_las(text, at) and 1 <= value <= 24:
        _spanish(text, at, value)
    elif len(digits) in {3, 4} and value % 100 < 60 and 400 <= value < 2400 and _clock_cue(text, at):
        _add(
            text,
            at,
            at + 1 + size,
            value // 100,
            value % 100,
            "24" if digits.startswith("0") or value >= 1300 else half,
        )
    elif _hour_after_at(text, at, value):
        late = value <= 4 or (value <= 6 and text.has("event.unplugged"))
        _add(text, at, at + 1, value, 0, "pm" if late else "")
    elif (
        token.spelled
        and 100 <= value <= 1259
        and value % 100 in {15, 30, 45}
        and value // 100 <= 12
        and _clock_cue(text, at)
    ):
        _add(text, at, at + 1, value // 100, value % 100, half)


def _hour_after_at(text: Text, at: int, value: int) -> bool:
    """ "unplugged at 4", "in at 9 tomorrow": a small number after "at" that nothing follows which it could count."""
    if (
        not 1 <= value <= 12
        or text.tokens[at].form != "int"
        or text.word(at - 1) not in {"at", "@", "since", "till", "until", "til", "by", "before"}
    ):
        return False
    after = text.word(at + 1)
    return (
        after
        in {
            "",
            ".",
            ",",
            ";",
            "!",
            "?",
            ")",
            "not",
            "and",
            "so",
            "for",
            "sharp",
            "instead",
            "tomorrow",
            "today",
            "this",
            "on",
            "because",
            "we",
            "or",
            "start",
            "now",
            "with",
            "as",
            "n",
            "y",
        }
        or text.mark_at(at + 1) is not None
    )


def _said_las(text: Text, at: int) -> bool:
    before = text.word(at - 1)
    if before == "las" and text.word(at - 2) in {
        "a",
        "son",
        "seran",
        "desde",
        "tipo",
        "hasta",
        "entra",
        "de",
        "",
        ",",
        "lectura",
    }:
        if text.word(at - 2) == "de" and text.word(at - 3) in {"antes", "despues", "partir", "pasadas"}:
            return True
        return not (text.word(at - 2) in {"de", "", ","} and text.word(at + 1) not in {"y", "am", "pm", ":", "en"})
    return (
        before == "la"
        and text.word(at - 2) == "a"
        and (text.tokens[at].value or 99) <= 12
        and (text.tokens[at].value == 1 or _half(text, at + 3)[0] != "")
        and text.word(at + 1) in {"y", "pm", "de"}
    )


def _spanish(text: Text, at: int, value: int) -> None:
    minute, size = 0, 1
    token = text.tokens[at]
    if token.form == "decimal":
        value, minute = int(token.value or 0), 30
    elif text.word(at + 1) in {"y", "con"}:
        named = {"media": 30, "cuarto": 15}.get(text.word(at + 2))
        number = text.tokens[at + 2].value if at + 2 < len(text.tokens) else None
        if named is not None or (number is not None and number in {5, 10, 15, 20, 25, 35, 40, 45, 50, 55}):
            minute, size = named if named is not None else int(number or 0), 3
    half, more = _half(text, at + size)
    if text.word(at + size) == "en" and text.word(at + size + 1) == "punto":
        more = 2
    _add(text, at, at + size + more, value, minute, half)


def _clock_cue(text: Text, at: int) -> bool:
    before = {text.word(at - 1), text.word(at - 2)}
    if text.word(at - 1) in {"at", "@", "since", "commenced", "log", "approx"} and not (
        280 <= (text.tokens[at].value or 0) <= 460
        and not text.tokens[at].raw.startswith("0")
        and not text.has("event.plugged_in")
    ):
        return True
    cues = {
        "in",
        "plugged",
        "plug",
        "everything",
        "plugger",
        "start",
        "saturday",
        "sunday",
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "begin",
    }
    named = {"commenced", "unplugged", "plugged", "start", "kickoff"}
    value = text.tokens[at].value or 0
    if not 400 <= value <= 2000 or (330 <= value <= 430 and not text.has("event.unplugged") and not text.has("remind")):
        return False
    return (bool(before & (cues | named)) and (value % 5 == 0)) or (text.has("remind") and value % 5 == 0)


def _spoken(text: Text) -> None:
    row, places = numbered_row(text)
    for match in _SPOKEN.finditer(row):
        start, end = places[match.start()], places[match.end() - 1] + 1
        if not text.free(start, end):
            continue
        if match["noon"]:
            _add(text, start, end, 12 if match["noon"] != "midnight" else 0, 0, "24")
            continue
        hour = int(text.tokens[end - 1].value or 0)
        half, size = _half(text, end)
        if not 1 <= hour <= 12:
            continue
        if match["half"]:
            if half or text.word(start - 1) in {"at", "@", "till", "til", ""} or text.word(end) in {"start", "in"}:
                _add(text, start, end + size, hour, 30, half)
            continue
        first = next(i for i in range(start, end) if text.word(i) != "at")
        minute = 15 if text.word(first) == "quarter" else int(text.tokens[first].value or 99)
        if minute > 29:
            continue
        back = match["way"] in {"to", "til", "till", "of"}
        if back and match["way"] in {"to", "of"} and minute not in {5, 10, 15, 20, 25}:
            continue
        if back and not (half or text.word(first) == "quarter" or text.word(first - 1) in {"at", "@"}):
            continue
        _add(text, start, end + size, hour - 1 if back else hour, 60 - minute if back else minute, half)
