"""Amounts: a number with its unit, as it stands in a rule file or in a sentence, compared at the precision it was read.

Exact fractions inside, so that 3/64 in on 5/16 in is 15 % and not a hair more. No rule and no verdict lives here.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

_INCH = Fraction("25.4")
#: unit -> (dimension, how many of the dimension's first unit it holds)
UNITS: dict[str, tuple[str, Fraction]] = {
    "mm": ("length", Fraction(1)),
    "cm": ("length", Fraction(10)),
    "m": ("length", Fraction(1000)),
    "in": ("length", _INCH),
    "ft": ("length", 12 * _INCH),
    "%": ("share", Fraction(1)),
    "s": ("time", Fraction(1)),
    "min": ("time", Fraction(60)),
    "h": ("time", Fraction(3600)),
    "C": ("heat", Fraction(1)),
    "F": ("heat", Fraction(5, 9)),
    "psi": ("stress", Fraction("0.00689475729")),
    "MPa": ("stress", Fraction(1)),
    "people": ("people", Fraction(1)),
    "V": ("voltage", Fraction(1)),
    "A": ("current", Fraction(1)),
}
#: How finely a limit is written when it is brought into another unit: 1/16 in is 1.6 mm, 360 F is 182 C.
_WRITTEN = {"mm": 1, "cm": 2, "m": 3, "in": 3, "ft": 2, "C": 0, "F": 0, "psi": 0, "MPa": 2}
_WORDS = {
    "es": {"in": "pulg", "ft": "pies", "people": "personas"},
    "en": {"people": "people"},
}
_SPOKEN = {
    "in": r"in|inch|inches|ins|pulg|pulgs|pulgada|pulgadas|\"|''|”",
    "mm": r"mm|millimeters?|millimetres?|milimetros?|mils?",
    "cm": r"cm|centimeters?|centimetres?|centimetros?",
    "ft": r"ft|feet|foot|pies|pie",
    "m": r"m|meters?|metres?|metros?",
    "F": r"f|deg f|degrees f|fahrenheit|°f|grados f|grados fahrenheit",
    "C": r"c|deg c|degrees c|celsius|centigrados|centigrade|°c|grados c|grados centigrados|grados celsius",
    "%": r"%|percent|pct|per cent|por ciento|porciento",
    "s": r"s|secs?|seconds?|segs?|segundos?",
    "min": r"min|mins|minutes?|minutos?",
    "h": r"h|hrs?|hours?|horas?",
    "psi": r"psi",
    "MPa": r"mpa|n/mm2",
}
_NUMBER = r"(?:\d+[ -]\d+/\d+|\d+/\d+|\d*[.,]\d+|\d+)"
_IN_TEXT = re.compile(
    rf"(?<![\w/.,])({_NUMBER})(?![\d/])\s*(?:"
    + "|".join(f"(?P<u{i}>{words})" for i, words in enumerate(_SPOKEN.values()))
    + r")?(?![a-z0-9/])"
)


@dataclass(frozen=True, slots=True)
class Amount:
    """``decimals``: digits after the point as it was read; None for a fraction or a whole number, taken as exact."""

    number: Fraction
    unit: str = ""
    decimals: int | None = None

    @property
    def dimension(self) -> str:
        return UNITS[self.unit][0] if self.unit else ""

    def __str__(self) -> str:
        return self.words("en")

    def words(self, language: str) -> str:
        """As people of that language write it: 1/16 in, 0.9 mm, 15 %."""
        text = _inches(self.number) if self.unit in ("in", "ft") else plain(self.number, self.decimals)
        unit = _WORDS.get(language, {}).get(self.unit, self.unit)
        return f"{text} {unit}".strip()


def number_of(text: str) -> tuple[Fraction, int | None]:
    """ "1 1/2", "3/16", "1,6", ".07" and the digits after the point; ValueError where it is none."""
    text = text.strip().replace(",", ".")
    if match := re.fullmatch(r"(?:(\d+)[ -])?(\d+)/([1-9]\d*)", text):
        return Fraction(int(match[1] or 0)) + Fraction(int(match[2]), int(match[3])), None
    if not re.fullmatch(r"\d*\.?\d+|\d+\.", text):
        raise ValueError(f"{text!r} is no number; write 1/16, 0.9 or 360")
    _, point, digits = text.partition(".")
    return Fraction(text if text[0] != "." else f"0{text}"), len(digits) if point else None


def amount_of(text: str) -> Amount:
    """An amount of a rule file, "1/16 in"; ValueError says how to write it."""
    match = re.fullmatch(rf"({_NUMBER})\s*(\D*)", text.strip())
    unit = match[2].strip() if match else ""
    if not match or (unit and unit not in UNITS):
        raise ValueError(f"{text!r} is no amount; write a number and one of {', '.join(UNITS)}")
    number, decimals = number_of(match[1])
    return Amount(number, unit, decimals)


def measured(value: object, unit: str | None) -> Amount:
    """An amount of an act's facts; ValueError where the value or unit is none."""
    if isinstance(value, int | float):
        value = format(Decimal(repr(value)), "f")
        value = value[:-2] if value.endswith(".0") else value
    number, decimals = number_of(str(value))
    unit = unit or ""
    if unit in ("in", "ft", "inch") and 64 % number.denominator == 0:
        decimals = None  # 0.0625 is how a reader hands on 1/16
    if unit and unit not in UNITS:
        unit = next((u for u, words in _SPOKEN.items() if re.fullmatch(words, unit.lower())), "")
        if not unit:
            raise ValueError("a unit nobody here measures in")
    return Amount(number, unit, decimals)


def amounts_in(text: str) -> tuple[Amount, ...]:
    """Every number of a sentence with the unit behind it, if one stands there."""
    found = []
    plain_text = "".join(c for c in unicodedata.normalize("NFKD", text.lower()) if not unicodedata.combining(c))
    for match in _IN_TEXT.finditer(plain_text):
        names = list(_SPOKEN)
        unit = next((names[int(k[1:])] for k, v in match.groupdict().items() if v), "")
        try:
            number, decimals = number_of(match[1])
        except (ValueError, ZeroDivisionError):
            continue
        found.append(Amount(number, unit, decimals))
    return tuple(found)


def in_unit(amount: Amount, unit: str) -> Fraction:
    """The number of ``amount`` in another unit of its dimension, exact; ValueError across dimensions."""
    if amount.unit == unit:
        return amount.number
    if amount.dimension != UNITS[unit][0]:
        raise ValueError(f"{amount.unit or 'no unit'} does not turn into {unit}")
    if amount.dimension == "heat":
        return (amount.number - 32) * Fraction(5, 9) if unit == "C" else amount.number * Fraction(9, 5) + 32
    return amount.number * UNITS[amount.unit][1] / UNITS[unit][1]


def limit_as_read(limit: Amount, reading: Amount) -> Amount:
    """The limit in the unit and at the precision of the reading: 1/16 in against 1.6 mm is 1.6 mm.

    A limit brought into another unit is written as finely as that unit is usually written; a reading with more digits
    than that gets a limit with as many. A whole number or a fraction is compared with the exact limit of its own unit.
    """
    exact = in_unit(limit, reading.unit)
    if limit.unit != reading.unit:
        digits: int | None = max(_WRITTEN.get(reading.unit, 6), reading.decimals or 0)
    else:
        digits = reading.decimals
    return Amount(exact if digits is None else half_up(exact, digits), reading.unit, digits)


def half_up(number: Fraction, digits: int) -> Fraction:
    """Rounded at ``digits`` after the point, a half upwards: a gauge shows 1/16 in as 0.063."""
    scale = 10**digits
    return Fraction((number * scale * 2 + 1).__floor__() // 2, scale)


def plain(number: Fraction, decimals: int | None = None) -> str:
    """Decimal digits without empty ones at the end, three figures that count at most where none were given."""
    digits = decimals if decimals is not None else 1 if abs(number) >= 10 else 2 if abs(number) >= 1 else 3
    text = f"{float(half_up(number, digits)):.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _inches(number: Fraction) -> str:
    """Sixty-fourths as a rule shows them, anything else in thousandths."""
    if number.denominator > 64 or number.denominator & (number.denominator - 1):
        return plain(number, 3)
    whole, rest = divmod(number, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)
