"""Words, numbers and marks of a text in their order, with number words read as numbers.

What a number stands for (count, splice, heat ...) is told in spans.py; nothing here knows the trade.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from sitebot.understand.spelling import clean, contract, fold, short

_TOKEN = re.compile(
    r"(?P<clock>\b\d{1,2}:\d{2}(?!\d))|(?P<station>\b\d+\+\d+\b)|(?P<fraction>\b\d{1,3}[ -]\d{1,2}/\d{1,2}\b|\b\d{1,2}/\d{1,2}\b(?!/))"
    r"|(?P<decimal>(?<![\w.])\.\d+|\d+\.\d+|\d+,\d+(?= ?(?:mm2?|cm|m|mpa|n/mm2|%|pulg|metros?|in|f|c)\b))|(?P<ordinal>\b\d+(?:st|nd|rd|th)\b)"
    r"|(?P<code>\b[a-z]{1,2}-?\d{1,3}[a-z]?\b|\b\d{1,2}[abdeg-jlnoprstuz]\b(?! ?\.))|(?P<int>\d+)|(?P<word>[^\W\d_]+)|(?P<mark>[^\w\s]|\n)",
    re.IGNORECASE,
)
#: b4 is "before" where no place can stand.
_BEFORE_4 = re.compile(
    r"\bb4(?= (?:lunch|the|we|i|they|noon|dark|you|u|it|that|dinner|break|he|she|rain|quit\w*|goin\w*|pull\w*|mud|smoko|my|our|start\w*|to?day|tomorrow|tmrw|even|this)\b)", re.IGNORECASE
)
_TO_DO = re.compile(r"(?<=[a-z] )2 (?=(?:redo|weld|fix|pull|cut|be|get|make|do|leave|see|know|tell)\b)", re.IGNORECASE)
_TO_DAY = re.compile(r"\b2(day|nite|night|morrow|moro)\b", re.IGNORECASE)
#: Letters and digits that are a quantity and no place: 6in is split by the pattern, w2 is short for "with 2".
_NO_CODE = re.compile(r"(x|no|sp|w|me|n|s|a|el|la|t)-?\d+[a-z]?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Token:
    """One word, number or mark."""

    raw: str
    #: Folded, shorthand written out, spelling repaired.
    word: str
    #: word, int, decimal, fraction, clock, code, ordinal, station, mark
    form: str
    value: float | None = None
    #: Written in letters.
    spelled: bool = False
    #: No space before it.
    glued: bool = False


def _value(form: str, raw: str) -> float | None:
    if form in {"int", "ordinal"}:
        return float(re.match(r"\d+", raw).group())  # type: ignore[union-attr]
    if form == "decimal":
        return float(raw.replace(",", "."))
    if form == "fraction":
        whole, part = re.split(r"[ -]", raw) if re.search(r"[ -]", raw) else ("0", raw)
        top, bottom = part.split("/")
        return int(whole) + int(top) / int(bottom) if int(bottom) else None
    return None


def _one(match: re.Match[str], text: str) -> list[Token]:
    form, raw = str(match.lastgroup), match.group()
    glued = match.start() > 0 and not text[match.start() - 1].isspace()
    if form == "code" and (_NO_CODE.fullmatch(raw) and fold(raw)[0] != "t"):
        head, tail = re.match(r"(\D+?)-?(\d.*)", raw).groups()  # type: ignore[union-attr]
        return [*tokens_of(head), *tokens_of(tail)]
    if form == "fraction" and _value(form, raw) is None:
        form = "code"
    letter = len(raw) == 1 and raw in "DKXPQ"
    word = short(fold(raw)) if form == "word" and not letter else fold(raw)
    parts = word.split() if form == "word" else []
    if len(parts) > 1:
        return [Token(raw, part, "word", None, False, glued) for part in parts]
    return [Token(raw, word or raw, form, _value(form, raw), False, glued)]


def tokens_of(text: str) -> list[Token]:
    """The bare tokens of a cleaned text."""
    return [token for match in _TOKEN.finditer(text) for token in _one(match, text)]


def read_tokens(text: str, repair: Callable[[str], str] = lambda w: w) -> list[Token]:
    """Tokens of a text as it came: cleaned, contracted, spelling repaired, number words read."""
    found = tokens_of(_BEFORE_4.sub("before", contract(_TO_DAY.sub(r"to\1", _TO_DO.sub("to ", clean(text))))))
    mended = [replace(t, word=repair(t.word)) if t.form == "word" else t for t in found]
    return number_words(_letters(_nothing(mended)))


def _nothing(tokens: list[Token]) -> list[Token]:
    """"0 voids" is "zero voids": nothing is no count."""
    out = list(tokens)
    for at, token in enumerate(tokens[:-1]):
        if token.raw == "0" and tokens[at + 1].form == "word" and tokens[at + 1].word not in {"deg", "degrees", "when", "f", "c"}:
            out[at] = Token("0", "zero", "word", None, False, token.glued)
    return out


def _letters(tokens: list[Token]) -> list[Token]:
    """"201 A", "203 R": an inspector's letters at the end of a line are verdicts."""
    out = list(tokens)
    for at, token in enumerate(tokens):
        nxt = tokens[at + 1].raw if at + 1 < len(tokens) else "\n"
        if token.raw in {"A", "R"} and nxt in {"\n", ".", ",", ";", "("} and at and (tokens[at - 1].form != "word" or tokens[at - 1].word in {"pct", "section", "nose"}):
            out[at] = replace(token, word="accepted" if token.raw == "A" else "rejected")
    return out


_UNITS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "oh": 0,
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17,
    "eighteen": 18, "nineteen": 19,
    "uno": 1, "una": 1, "un": 1, "dos": 2, "tres": 3, "cuatro": 4, "cinco": 5, "seis": 6, "siete": 7, "ocho": 8,
    "nueve": 9, "diez": 10, "once": 11, "doce": 12, "trece": 13, "catorce": 14, "quince": 15, "dieciseis": 16,
    "diecisiete": 17, "dieciocho": 18, "diecinueve": 19, "veintiuno": 21, "veintiuna": 21, "veintiun": 21, "veintidos": 22,
    "veintitres": 23, "veinticuatro": 24, "veinticinco": 25, "veintiseis": 26, "veintisiete": 27, "veintiocho": 28,
    "veintinueve": 29,
}  # fmt: skip
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
    "ninety": 90, "veinte": 20, "treinta": 30, "cuarenta": 40, "cincuenta": 50, "sesenta": 60, "setenta": 70,
    "ochenta": 80, "noventa": 90,
}  # fmt: skip
_HUNDREDS = {
    "hundred": 100, "cien": 100, "ciento": 100, "doscientos": 200, "doscientas": 200, "trescientos": 300,
    "trescientas": 300, "cuatrocientos": 400, "quinientos": 500,
}  # fmt: skip
_DOZENS = {"dozen": 12, "docena": 12, "couple": 2, "pair": 2, "par": 2}
#: Words before "one" that let it count something; elsewhere it is a pronoun (that one, the burnt one).
_COUNTING = {
    "", "made", "did", "do", "got", "get", "put", "finished", "finish", "only", "and", ",", "with", "iron", "number", "no", "#", ":", "plus", "banged",
    "had", "zapped", "took", "welded", "done", ".", "splice", "num", "wall", "lift", "pour", "bay", "slab", "at", "or", "-", "than", "(", "section", "to",
    "on", "plancha", "hit", "knocked", "need", "needs", "missing", "for", "is", "was", "joint", "weld", "cock", "have", "stuck", "in", "of",
}  # fmt: skip
NUMBER_WORDS = frozenset(_UNITS) | frozenset(_TENS) | frozenset(_HUNDREDS) | frozenset(_DOZENS) | {"half", "medio", "media", "couple", "pair", "par"}


def number_words(tokens: list[Token]) -> list[Token]:
    """Number words joined to numbers: "three seventy five" 375, "setenta y ocho" 78, "half a dozen" 6."""
    out: list[Token] = []
    at = 0
    while at < len(tokens):
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
        if after in {"laying", "standing", "tee", "butt", "cross", "flat", "edge", "corner", "wye", "splice", "on", "more", "at"}:
            return before in {"that", "this", "last", "the"}
        return before not in _COUNTING or after in {"of", "side", "end", "edge", "leg", "spot", "lip", "cut", "line"} or before in {"of", "is", "was", "to"} and after in {"", ".", ","}
    if word == "once":
        return before not in {"las", "los", "el"} and not after.startswith(("empalm", "pega", "sold", "recto", "tope", "junt"))
    if word == "oh":
        return True
    if word == "uno":
        return before in {"cada", "hay"} or before in {"de", "en"} and after in {"y", "", "el"}
    return True


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


def _below_hundred(tokens: list[Token], at: int) -> tuple[int, int]:
    first = _word(tokens, at)
    if first in _TENS:
        joint = 2 if _word(tokens, at + 1) == "y" else 1
        unit = _UNITS.get(_word(tokens, at + joint), 99)
        return (_TENS[first] + unit, joint + 1) if 0 < unit < 10 else (_TENS[first], 1)
    return (_UNITS[first], 1) if first in _UNITS else (0, 0)


def _below_thousand(tokens: list[Token], at: int) -> tuple[float, int]:
    value, length = _below_hundred(tokens, at)
    word = _word(tokens, at + length)
    if word in _HUNDREDS and (length == 0 or value < 10) and _word(tokens, at - 1) != "por":
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
    if length and word in {"point", "punto"}:
        unit = _UNITS.get(_word(tokens, at + length + 1), 99)
        if unit < 10:
            return value + unit / 10, length + 2
    if length and word in {"and", "y"} and _word(tokens, at + length + 1) in {"medio", "half", "a"}:
        half = 2 if _word(tokens, at + length + 1) in {"medio", "half"} else 3
        if half == 2 or _word(tokens, at + length + 2) == "half":
            return value + 0.5, length + half
    return value, length
