# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Numbers with a unit: lengths, heats, shares, pulls, cords and currents, durations.

Plain numbers stay plain; what they are for is told elsewhere. Heat is kept in Fahrenheit, as the record wants it.
"""

from __future__ import annotations

from sitebot.understand.marks import Text

LENGTHS = {
    "in": "in", "inch": "in", "inches": "in", "pulg": "in", "pulgada": "in", "pulgadas": "in", '"': "in",
    "mm": "mm", "mil": "mm", "millimeters": "mm", "millimetres": "mm", "millimetre": "mm", "millimeter": "mm", "milimetros": "mm",
    "milimetro": "mm", "cm": "cm", "centimetros": "cm", "centimeters": "cm",
    "m": "m", "mts": "m", "mt": "m", "meters": "m", "metres": "m", "metre": "m", "meter": "m", "metro": "m", "metros": "m",
    "ft": "ft", "foot": "ft", "feet": "ft", "footer": "ft", "footers": "ft", "pies": "ft", "pie": "ft",
}  # fmt: skip
FEET_FOR = {"ft": 1.0, "m": 3.28084, "cm": 0.0328084, "in": 1 / 12, "mm": 0.00328084}
_HEAT = {
    "f": "F",
    "fahrenheit": "F",
    "farenheit": "F",
    "c": "C",
    "celsius": "C",
    "centigrados": "C",
    "centigrade": "C",
    "centigrado": "C",
}
_DEGREES = {"deg", "degs", "degree", "degrees", "grado", "grados", "°", "gr"}
_OTHER = {
    "psi": ("pull", "psi"), "libras": ("pull", "psi"), "lbs": ("pull", "psi"), "milesimas": ("thou", "in"), "milesima": ("thou", "in"), "mils": ("thou", "in"), "thou": ("thou", "in"), "megapascales": ("pull", "MPa"), "megas": ("pull", "MPa"), "kilos": ("pull", "kg"), "kg": ("pull", "kg"), "kgf": ("pull", "kg"), "newtons": ("pull", "N"), "ciento": ("pct", "%"), "porciento": ("pct", "%"), "mpa": ("pull", "MPa"), "%": ("pct", "%"), "pct": ("pct", "%"), "percent": ("pct", "%"),
    "amp": ("amp", "A"), "amps": ("amp", "A"), "ampere": ("amp", "A"), "amperes": ("amp", "A"), "a": ("amp", "A"),
    "v": ("volt", "V"), "volt": ("volt", "V"), "volts": ("volt", "V"), "voltios": ("volt", "V"),
    "w": ("watt", "W"), "watt": ("watt", "W"), "watts": ("watt", "W"), "kw": ("watt", "kW"), "vatios": ("watt", "W"),
    "awg": ("gauge", "AWG"), "gauge": ("gauge", "AWG"), "ga": ("gauge", "AWG"), "mm2": ("mm2", "mm2"),
    "minutes": ("dur", "min"), "minute": ("dur", "min"), "minutos": ("dur", "min"), "minuto": ("dur", "min"), "m1n": ("dur", "min"),
    "hour": ("dur", "h"), "hours": ("dur", "h"), "hora": ("dur", "h"), "horas": ("dur", "h"), "h": ("dur", "h"),
    "seconds": ("dur", "s"), "second": ("dur", "s"), "segundos": ("dur", "s"), "segundo": ("dur", "s"),
}  # fmt: skip
_PROFILES = {4, 5, 6, 7, 8, 9, 10, 12, 14}
_AFTER_WIDTH = {
    ",", ".", "", "butt", "butts", "flat", "edge", "web", "pvc", "profile", "material", "stock", "strip", "bulb", "ribbed",
    "centerbulb", "tee", "corner", "strips", "waterstop", "w", "section", "ones", "on", "stuff", "lopsided", "with",
}  # fmt: skip


def heat_f(value: float, unit: str) -> float:
    """Fahrenheit, Celsius rounded to the whole degree."""
    return round(value * 9 / 5 + 32) if unit == "C" else (int(value) if float(value).is_integer() else value)


def mark_quantities(text: Text) -> None:
    """Lay marks over every number that carries its unit."""
    for at, token in enumerate(text.tokens):
        if token.value is None or token.form == "ordinal" or not text.free(at):
            continue
        _unit_before(text, at) or _shares(text, at) or _heat(text, at) or _length(text, at) or _other(
            text, at
        ) or _fraction(text, at)
    _one_unit(text)
    _spoken_durations(text)


_SINGULAR = {
    "milimetro": "mm",
    "pulgada": "in",
    "centimetro": "cm",
    "inch": "in",
    "millimeter": "mm",
    "millimetre": "mm",
}


def _one_unit(text: Text) -> None:
    """ "milimetro y medio", "una pulgada", "dos milimetros y medio": one of the unit, and a half."""
    for at, token in enumerate(text.tokens):
        unit = _SINGULAR.get(token.word)
        half = text.word(at + 1) in {"y", "and"} and text.word(at + 2) in {"medio", "media", "half"}
        size = 3 if half else 1
        mark = text.mark_at(at)
        if mark is not None and mark.kind == "len" and half and mark.end == at + 1:
            text.drop(mark)
            text.add("len", mark.start, at + size, float(mark.value) + 0.5, mark.unit)
        elif unit and text.free(at) and (half or text.word(at - 1) in {"un", "una", "a", "an"}):
            start = at - 1 if text.word(at - 1) in {"un", "una", "a", "an"} else at
            text.add("len", start, at + size, 1.5 if half else 1.0, unit)


def _fraction(text: Text, at: int) -> bool:
    """A bare 1/16 is of an inch on these sites."""
    token = text.tokens[at]
    if token.form == "fraction" and (token.value or 9) < 1:
        text.add("len", at, at + 1, token.value, "in")
        return True
    return False


def _unit_before(text: Text, at: int) -> bool:
    if text.word(at - 1) == "number" and text.word(at + 1) == "wire":
        text.add("gauge", at - 1, at + 2, text.tokens[at].value, "AWG")
        return True
    if text.word(at - 1) in {"gauge", "calibre", "awg"} or (
        text.word(at - 2) in {"gauge", "calibre"} and text.word(at - 1) in {"no", "de"}
    ):
        text.add("gauge", at - 1, at + 1, text.tokens[at].value, "AWG")
        return True
    return False


def _shares(text: Text, at: int) -> bool:
    words = (text.word(at + 1), text.word(at + 2), text.word(at + 3))
    size = (
        3
        if words[:2] == ("por", "ciento")
        else 3
        if words[:2] == ("per", "cent")
        else 2
        if words[0] in {"%", "pct", "percent"}
        else 0
    )
    if size:
        text.add("pct", at, at + size, text.tokens[at].value, "%")
    return bool(size)


def _heat(text: Text, at: int) -> bool:
    value = text.tokens[at].value or 0
    size, degrees = 1, False
    while text.word(at + size) in _DEGREES or (degrees and text.word(at + size) in {"."}):
        degrees = True
        size += 1
    unit = _HEAT.get(text.word(at + size), "")
    if (unit == "C" and not (100 <= value <= 270)) or (unit == "F" and not (180 <= value <= 600)):
        unit = "" if not degrees else unit
    if unit:
        text.add("temp", at, at + size + 1, heat_f(value, unit), unit)
    elif degrees and 250 <= value <= 550:
        text.add("temp", at, at + size, heat_f(value, "F"), "F")
    elif degrees and 180 < value <= 240 and not _about_angles(text):
        text.add("temp", at, at + size, heat_f(value, "C"), "C")
    elif degrees:
        text.add("ang", at, at + size, value, "deg")
    return bool(unit or degrees)


def _about_angles(text: Text) -> bool:
    return text.has("turn_word") or text.has("inside_word")


def _length(text: Text, at: int) -> bool:
    token, word = text.tokens[at], text.word(at + 1)
    size = 2
    if word in {"de", "-"} and LENGTHS.get(text.word(at + 2)) and text.word(at + 2) not in {"in", "m"}:
        word, size = text.word(at + 2), 3
    unit = LENGTHS.get(word)
    if (
        unit is None
        and text.word(at + 1) == "of"
        and text.word(at + 2) in {"a", "an"}
        and LENGTHS.get(text.word(at + 3))
    ):
        unit, size = LENGTHS[text.word(at + 3)], 4
    if unit is None or (word in {"in", "m", "mil"} and not _is_length(text, at)):
        return False
    if text.word(at + size) == "." and word in {"in", "pulg"} and text.word(at + size + 1):
        size += 1 if text.tokens[at + size].glued and text.word(at + size + 1).islower() and word == "pulg" else 0
    text.add("len", at, at + size, token.value, unit)
    return True


def _is_length(text: Text, at: int) -> bool:
    token, after = text.tokens[at], text.tokens[at + 1]
    if after.glued or token.form in {"fraction", "decimal"}:
        return True
    if after.word == "in" and text.word(at + 2) in {"plane", "plan", "the", "a"}:
        return False
    if after.word == "m" and (
        text.has("power") or (text.word(at - 1) in {"en", "por", "cada", "de"} and bool(text.of("len")))
    ):
        return True
    if after.word != "in":
        return after.word == "mil" or not text.spanish
    return token.value in _PROFILES and text.word(at + 2) in _AFTER_WIDTH and (
        text.word(at - 1) in {",", "the", "profile", "a", "reg", "just", "is", "s", "be", "of"} or text.word(at + 2) not in {"", ".", "on", "with", "w"}
    )  # fmt: skip


def _other(text: Text, at: int) -> bool:
    token, word = text.tokens[at], text.word(at + 1)
    if word == "with" and at + 1 < len(text.tokens) and (text.tokens[at + 1].glued or text.tokens[at + 1].raw == "W"):
        word = "watt"
    size = 2
    if word == "-":
        word, size = text.word(at + 2), 3
    if word == "n" and text.word(at + 2) == "/":
        text.add("pull", at, min(at + 4, len(text.tokens)), token.value, "MPa")
        return True
    found = _OTHER.get(word)
    if found is None or (
        word in {"a", "v", "w", "m", "h"} and not text.tokens[at + 1].glued and not (word == "w" and text.has("power"))
    ):
        return False
    if word == "second" and text.word(at + 2) in {"cut", "one", "sample", "look", "go"}:
        return False
    kind, unit = found
    value = (token.value or 0) * 1000 if unit == "kW" else token.value
    if kind == "thou":
        kind, value = "len", (token.value or 0) / 1000
    if kind == "dur" and unit == "h":
        value = (token.value or 0) * 60
        if text.word(at + size) in {"and", "y"} and text.word(at + size + 1) in {"media", "half"}:
            value, size = value + 30, size + 2
    text.add(kind, at, at + size, value, "min" if unit == "h" else unit)
    return True


def _spoken_durations(text: Text) -> None:
    row, places = text.row()
    for phrase, minutes in (
        (" another half an hour ", 30), (" half an hour ", 30), (" half hour ", 30), (" media hora ", 30), (" an hour and ten ", 70),
        (" hora y media ", 90), (" an hour ", 60), (" a hour ", 60), (" una hora ", 60), (" un minuto ", 1), (" a minute ", 1),
    ):  # fmt: skip
        at = row.find(phrase)
        if at >= 0 and text.free(places[at + 1]):
            text.add("dur", places[at + 1], places[at + len(phrase) - 2] + 1, minutes, "min")
            row, places = text.row()
