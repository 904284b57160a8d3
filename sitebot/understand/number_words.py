# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Numbers written in letters, English and Spanish: "three seventy five", "ciento ochenta y cinco", "un dieciseisavo".

Works on tokens; what a number stands for is told elsewhere.
"""

from __future__ import annotations

import re
from dataclasses import replace

from sitebot.understand.token import Token

_UNITS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "oh": 0,
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17,
    "eighteen": 18, "nineteen": 19,
    "uno": 1, "una": 1, "un": 1, "dos": 2, "tres": 3, "cuatro": 4, "cinco": 5, "seis": 6, "siete": 7, "ocho": 8,
    "nueve": 9, "diez": 10, "nuebe": 9, "sinco": 5, "dies": 10, "dose": 12, "trese": 13, "catorse": 14, "quinse": 15, "once": 11, "doce": 12, "trece": 13, "catorce": 14, "quince": 15, "dieciseis": 16,
    "diecisiete": 17, "dieciocho": 18, "diecinueve": 19, "veintiuno": 21, "veintiuna": 21, "veintiun": 21, "veintidos": 22,
    "veintitres": 23, "veinticuatro": 24, "veinticinco": 25, "veintiseis": 26, "veintisiete": 27, "veintiocho": 28,
    "veintinueve": 29,
}  # fmt: skip
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
    "ninety": 90, "veinte": 20, "treinta": 30, "cuarenta": 40, "cincuenta": 50, "sesenta": 60, "setenta": 70,
    "ochenta": 80, "noventa": 90,
}  # fmt: skip
_JOINED = re.compile(
    r"(veint|treint|trent|cuarent|cincuent|sincuent|sesent|setent|ochent|novent)(?:a|e)?(?:y|i|ai|ay)(un|uno|una|dos|tres|cuatro|cinco|sinco|seis|siete|ocho|nueve)"
)
_STEMS = {
    "veint": 20,
    "treint": 30,
    "trent": 30,
    "cuarent": 40,
    "cincuent": 50,
    "sincuent": 50,
    "sesent": 60,
    "setent": 70,
    "ochent": 80,
    "novent": 90,
}
#: Parts of a whole: "un octavo", "tres dieciseisavos", "five thirty-seconds".
_PARTS = {
    "half": 2, "halves": 2, "quarter": 4, "quarters": 4, "eighth": 8, "eighths": 8, "sixteenth": 16, "sixteenths": 16, "medio": 2, "media": 2, "cuarto": 4,
    "cuartos": 4, "octavo": 8, "octavos": 8, "dieciseisavo": 16, "dieciseisavos": 16, "diesiseisavo": 16, "diesiseisavos": 16, "dieciseisabo": 16,
    "treintaidosavo": 32, "treintaidosavos": 32, "treintaydosavo": 32, "treintaidosabo": 32, "treintadosavo": 32, "treintadosavos": 32, "dosavo": 32, "dosavos": 32, "tercio": 3, "tercios": 3,
    "sesentaicuatroavo": 64, "sesentaicuatroavos": 64, "quinto": 5, "quintos": 5, "fifth": 5, "fifths": 5, "decima": 10, "decimas": 10, "tenth": 10, "tenths": 10,
}  # fmt: skip
_HUNDREDS = {
    "hundred": 100, "cien": 100, "ciento": 100, "doscientos": 200, "doscientas": 200, "trescientos": 300,
    "trescientas": 300, "cuatrocientos": 400, "cuatrocientas": 400, "quinientos": 500, "seiscientos": 600, "setecientos": 700, "ochocientos": 800, "novecientos": 900,
}  # fmt: skip
_DOZENS = {"dozen": 12, "docena": 12, "couple": 2, "pair": 2, "par": 2}
#: Words before "one" that let it count something; elsewhere it is a pronoun (that one, the burnt one).
_COUNTING = {
    "", "made", "did", "do", "got", "get", "put", "finished", "finish", "only", "and", ",", "with", "iron", "number", "no", "#", ":", "plus", "banged",
    "had", "zapped", "took", "welded", "done", ".", "splice", "num", "wall", "lift", "pour", "bay", "slab", "at", "or", "-", "than", "(", "section", "to",
    "on", "plancha", "hit", "knocked", "need", "needs", "missing", "for", "is", "was", "joint", "weld", "cock", "have", "stuck", "in", "of",
}  # fmt: skip
NUMBER_WORDS = (
    frozenset(_UNITS)
    | frozenset(_TENS)
    | frozenset(_HUNDREDS)
    | frozenset(_DOZENS)
    | {"half", "medio", "media", "couple", "pair", "par"}
)


def _fraction(tokens: list[Token], at: int) -> tuple[float, int]:
    """ "un octavo", "tres dieciseisavos", "a sixteenth", "an eighth of": value and length."""
    first, second = _word(tokens, at), _word(tokens, at + 1)
    lead = 1 if first in {"a", "an", "un", "una", "one"} else _UNITS.get(first, 0)
    if first == "treinta" and _word(tokens, at + 1) in {"y", "i"}:
        return 0, 0
    size = 2
    if (
        lead
        and second in {"treinta", "thirty"}
        and (_word(tokens, at + 2) in {"y", "i", "-"})
        and _word(tokens, at + 3) in {"dosavo", "dosavos", "second", "seconds"}
    ):
        return lead / 32, 4
    if lead and second == "thirty" and _word(tokens, at + 2) in {"second", "seconds"}:
        return lead / 32, 3
    part = _PARTS.get(second, 0)
    if (
        not lead
        or not part
        or (part in {2, 4} and not _measured(tokens, at + size, part, first))
        or (part == 5 and second in {"quinto", "quintos"})
    ):
        return 0, 0
    return lead / part, size


def _measured(tokens: list[Token], at: int, part: int, lead: str) -> bool:
    """A half or a quarter is a measure only before inch, pulgada ..."""
    return any(
        _word(tokens, at + i) in {"inch", "pulgada", "pulgadas", "pulg", "in", "milimetro", "mm", "inches"}
        for i in range(3)
    )


def number_words(tokens: list[Token]) -> list[Token]:
    """Number words joined to numbers: "three seventy five" 375, "setenta y ocho" 78, "half a dozen" 6."""
    out: list[Token] = []
    at = 0
    while at < len(tokens):
        part, size = _fraction(tokens, at)
        if size:
            out.append(
                Token(
                    " ".join(t.raw for t in tokens[at : at + size]),
                    tokens[at].word,
                    "fraction",
                    part,
                    True,
                    tokens[at].glued,
                )
            )
            at += size
            continue
        if (unit := _half_unit(tokens, at)) is not None:
            out += unit
            at += 2
            continue
        value, length = _spelled(tokens, at)
        if length and not _is_pronoun(tokens, at, length):
            raw = " ".join(t.raw for t in tokens[at : at + length])
            form = "int" if float(value).is_integer() else "decimal"
            out.append(Token(raw, tokens[at].word, form, value, True, tokens[at].glued))
            at += length
        elif (half := _half(tokens, at)) and out and out[-1].form == "int" and out[-1].value is not None:
            out[-1] = replace(out[-1], raw=f"{out[-1].raw} 1/2", form="decimal", value=out[-1].value + 0.5)
            at += half
        else:
            out.append(tokens[at])
            at += 1
    return out


_HALVES = {
    "pulgada": "media",
    "pulgadas": "media",
    "milimetro": "medio",
    "centimetro": "medio",
    "inch": "half",
    "mm": "medio",
}


def _half_unit(tokens: list[Token], at: int) -> list[Token] | None:
    """ "media pulgada", "medio milimetro", "half inch": 0.5 of the unit."""
    first, second = _word(tokens, at), _word(tokens, at + 1)
    if second in _HALVES and first in {"media", "medio", "half"}:
        return [Token(tokens[at].raw, first, "fraction", 0.5, True, tokens[at].glued), tokens[at + 1]]
    return None


def _half(tokens: list[Token], at: int) -> int:
    """Length of "and a half" or "y medio" that starts here."""
    words = [_word(tokens, at + i) for i in range(3)]
    if words[0] in {"and", "y"} and words[1:] == ["a", "half"]:
        return 3
    return 2 if words[0] in {"and", "y"} and words[1] in {"half", "medio"} else 0


def _is_pronoun(tokens: list[Token], at: int, length: int) -> bool:
    if length > 1 or tokens[at].word not in {"one", "un", "una", "uno", "once", "oh"}:
        return False
    word = tokens[at].word
    before = tokens[at - 1].word if at else ""
    after = tokens[at + 1].word if at + 1 < len(tokens) else ""
    if word == "one":
        if after in {
            "laying",
            "standing",
            "tee",
            "butt",
            "cross",
            "flat",
            "edge",
            "corner",
            "wye",
            "splice",
            "on",
            "more",
            "at",
        }:
            return before in {"that", "this", "last", "the"}
        return (
            before not in _COUNTING
            or after in {"of", "side", "end", "edge", "leg", "spot", "lip", "cut", "line"}
            or (before in {"of", "is", "was", "to"} and after in {"", ".", ","})
        )
    if word == "once":
        return before not in {"las", "los", "el", "la", "del", "al"} and not _among_spanish(tokens, at, after)
    if word == "oh":
        return True
    if word == "uno":
        return before in {"cada", "hay"} or (before in {"de", "en"} and after in {"y", "", "el"})
    return True


def _among_spanish(tokens: list[Token], at: int, after: str) -> bool:
    """ "diez pasa once no pasa": eleven, where the words around are no English."""
    near = {t.word for t in tokens[max(0, at - 3) : at + 4]} - {"once", "no", "a"}
    counted = after.startswith(("empalm", "pega", "sold", "recto", "tope", "junt"))
    return counted or bool(
        near & (NUMBER_WORDS - {"two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "half"})
        or near & {"pasa", "pasan", "bien", "mal", "el", "la", "con", "en"}
    )


def _word(tokens: list[Token], at: int) -> str:
    return tokens[at].word if at < len(tokens) and tokens[at].form == "word" else ""


def _spelled(tokens: list[Token], at: int) -> tuple[float, int]:
    """Value and number of tokens of the number word that starts here; length 0 when there is none."""
    first = _word(tokens, at)
    if first in {"half", "media"} and _word(tokens, at + 1) in {"dozen", "docena", "a"}:
        size = 3 if _word(tokens, at + 1) == "a" else 2
        if _word(tokens, at + size - 1) in {"dozen", "docena"}:
            return 6, size
    if first == "a" and _word(tokens, at + 1) in {"half", "dozen"}:
        value, length = _spelled(tokens, at + 1)
        return (value, length + 1) if length else (0, 0)
    if first == "a" and _word(tokens, at + 1) == "hundred":
        value, length = _below_thousand(tokens, at + 1)
        return value, length + 1
    if first in _DOZENS:
        return _DOZENS[first], 1
    return _below_thousand(tokens, at)


def _is_by_hundreds(word: str, value: float) -> bool:
    """ "thirty five hundred": thousands counted by hundreds."""
    return word == "hundred" and 10 < value < 100 and value % 10 != 0


def _below_hundred(tokens: list[Token], at: int) -> tuple[int, int]:
    first = _word(tokens, at)
    joined = _JOINED.fullmatch(first)
    if joined:
        return _STEMS[joined[1]] + _UNITS[joined[2]], 1
    if first in _TENS:
        joint = 2 if _word(tokens, at + 1) == "y" else 1
        unit = _UNITS.get(_word(tokens, at + joint), 99)
        return (_TENS[first] + unit, joint + 1) if 0 < unit < 10 else (_TENS[first], 1)
    return (_UNITS[first], 1) if first in _UNITS else (0, 0)


def _below_thousand(tokens: list[Token], at: int) -> tuple[float, int]:
    value, length = _below_hundred(tokens, at)
    word = _word(tokens, at + length)
    if word in {"mil", "thousand"} and (
        (
            length == 0
            and word == "mil"
            and (at == 0 or (tokens[at - 1].form == "word" and _word(tokens, at - 1) not in {"twelve", "a"}))
        )
        or 0 < value < 100
    ):
        more, size = _below_thousand(tokens, at + length + 1)
        return (value or 1) * 1000 + (more if size else 0), length + 1 + size
    if (
        word in _HUNDREDS
        and (length == 0 or value < 10 or _is_by_hundreds(word, value))
        and _word(tokens, at - 1) != "por"
    ):
        base = _HUNDREDS[word] * (value or 1) if word == "hundred" else _HUNDREDS[word]
        used = length + 1
        joint = 1 if _word(tokens, at + used) == "and" and _below_hundred(tokens, at + used + 1)[1] else 0
        rest, more = _below_hundred(tokens, at + used + joint)
        return base + rest, used + (joint + more if more else 0)
    if length == 1 and 0 < value < 10:
        if word == "oh":
            unit = _UNITS.get(_word(tokens, at + 2), 99)
            if unit < 10:
                return value * 100 + unit, 3
        rest, more = _below_hundred(tokens, at + 1) if word in _TENS else (0, 0)
        if more:
            return value * 100 + rest, 1 + more
    if length and word in {"point", "punto", "coma"}:
        unit, size = _below_hundred(tokens, at + length + 1)
        if size:
            return value + unit / (10 if unit < 10 else 100), length + 1 + size
    if length and word in {"and", "y"} and _word(tokens, at + length + 1) in {"medio", "half", "a"}:
        half = 2 if _word(tokens, at + length + 1) in {"medio", "half"} else 3
        if half == 2 or _word(tokens, at + length + 2) == "half":
            return value + 0.5, length + half
    return value, length
