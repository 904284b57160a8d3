# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Words, numbers and marks of a text in their order, with number words read as numbers.

What a number stands for (count, splice, heat ...) is told in spans.py; nothing here knows the trade.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from sitebot.understand.dictation import as_meant
from sitebot.understand.dropped import whole_participles
from sitebot.understand.number_words import number_words
from sitebot.understand.spelling import clean, contract, fold, short
from sitebot.understand.token import Token

_TOKEN = re.compile(
    r"(?P<clock>\b\d{1,2}(?::|h)\d{2}(?!\d))|(?P<station>\b\d+\+\d+\b)|(?P<fraction>\b\d{1,3}[ -]\d{1,2}/\d{1,2}\b|\b\d{1,2}/\d{1,2}\b(?!/))"
    r"|(?P<decimal>(?<![\w.])\.\d+|\d+\.\d+|\d+,\d+(?= ?(?:mm2?|cm|m|mpa|n/mm2|%|pulg|metros?|in|f|c)\b))|(?P<ordinal>\b\d+(?:st|nd|rd|th|ra|da|ro|do|er|era|ta|to|va|vo|ma|mo)\b)"
    r"|(?P<code>\b[a-z]{1,2}-?\d{1,3}[a-z]?\b|\b\d{1,2}[abdeg-jlnoprstuz]\b(?! ?\.))|(?P<int>\d+)|(?P<word>[^\W\d_]+)|(?P<mark>[^\w\s]|\n)",
    re.IGNORECASE,
)
#: b4 is "before" where no place can stand.
_BEFORE_4 = re.compile(
    r"\bb4(?= (?:lunch|the|we|i|they|noon|dark|you|u|it|that|dinner|break|he|she|rain|quit\w*|goin\w*|pull\w*|mud|smoko|my|our|start\w*|to?day|tomorrow|tmrw|even|this)\b)",
    re.IGNORECASE,
)
_TO_DO = re.compile(r"(?<=[a-z] )2 (?=(?:redo|weld|fix|pull|cut|be|get|make|do|leave|see|know|tell)\b)", re.IGNORECASE)
_TO_DAY = re.compile(r"\b2(day|nite|night|morrow|moro)\b", re.IGNORECASE)
#: "no e el 31, e el 13": "es" without its s.
_HEARD_IS = re.compile(r"(\bno |, ?)e (?=(?:el|la|lo|un|una|en|de)\b)", re.IGNORECASE)
#: "... son de cruz los dos punto en el eje siete punto": stops dictated in words, where more than one is.
_SPOKEN_STOP = re.compile(
    r"(?<!\ben)(?<!\bde)(?<!\ba)(?<!\bal)(?<!\bun)(?<!\bel) punto\b(?! (?:de|y coma|cinco|\d))", re.IGNORECASE
)
#: "metimo do ma", "lo do derechito": "dos" without its s.
_HEARD_TWO = re.compile(
    r"(?<=[a-zñ]imo )do\b|(?<=[a-zñ]amo )do\b|(?<=\blo )do\b|(?<=\bla )do\b|(?<=\beto )do\b", re.IGNORECASE
)
_HEARD_DAY = re.compile(r"(?<=[\da-z] )d?e la ta[ri]de\b", re.IGNORECASE)
_HEARD_AGAIN = re.compile(r"(\b(?:otra|una|de una|tal) ve)\b", re.IGNORECASE)
#: Letters and digits that are a quantity and no place: 6in is split by the pattern, w2 is short for "with 2".
_NO_CODE = re.compile(r"(x|no|sp|w|me|n|s|a|el|la|t)-?\d+[a-z]?", re.IGNORECASE)


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
    if form == "code" and _NO_CODE.fullmatch(raw) and fold(raw)[0] != "t" and raw[0] != "A":
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
    if len(_SPOKEN_STOP.findall(text)) > 1:
        text = _SPOKEN_STOP.sub(".", text)
    text = _HEARD_TWO.sub("dos", text)
    text = _HEARD_DAY.sub("de la tarde", text)
    text = _HEARD_AGAIN.sub(r"\1z", _HEARD_IS.sub(r"\1es ", text))
    plain = contract(_TO_DAY.sub(r"to\1", _TO_DO.sub("to ", as_meant(clean(text)))))
    found = whole_participles(tokens_of(_BEFORE_4.sub("before", plain)))
    shouts = text.isupper()
    mended = [
        replace(t, word=repair(t.word)) if t.form == "word" and _may_mend(found, i, shouts) else t
        for i, t in enumerate(found)
    ]
    return number_words(_letters(_nothing(_the_new_one(mended))))


def _the_new_one(tokens: list[Token]) -> list[Token]:
    """ "the new 1": a pronoun written as a figure."""
    return [
        Token("1", "one", "word", None, False, t.glued)
        if t.raw == "1" and at and tokens[at - 1].word in _PRONOUN
        else t
        for at, t in enumerate(tokens)
    ]


_PRONOUN = {"new", "other", "bad", "old", "good", "wrong"}


def _nothing(tokens: list[Token]) -> list[Token]:
    """ "0 voids" is "zero voids": nothing is no count."""
    out = list(tokens)
    for at, token in enumerate(tokens[:-1]):
        if (
            token.raw == "0"
            and tokens[at + 1].form == "word"
            and tokens[at + 1].word not in {"deg", "degrees", "when", "f", "c"}
        ):
            out[at] = Token("0", "zero", "word", None, False, token.glued)
    return out


def _may_mend(tokens: list[Token], at: int, shouts: bool) -> bool:
    """A capital inside a sentence is a name and stays as it is."""
    raw = tokens[at].raw
    first = at == 0 or tokens[at - 1].raw in {".", "!", "?", "\n", ":"}
    return first or shouts or not raw[0].isupper()


def _letters(tokens: list[Token]) -> list[Token]:
    """ "201 A", "203 R": an inspector's letters at the end of a line are verdicts."""
    out = list(tokens)
    both = any(t.raw.upper() == "UNSAT" for t in tokens)
    for at, token in enumerate(tokens):
        nxt = tokens[at + 1].raw if at + 1 < len(tokens) else "\n"
        if (
            token.raw in {"A", "R"}
            and nxt in {"\n", ".", ",", ";", "("}
            and at
            and (tokens[at - 1].form != "word" or tokens[at - 1].word in {"pct", "section", "nose"})
        ):
            out[at] = replace(token, word="accepted" if token.raw == "A" else "rejected")
        said = token.raw.upper()
        if said == "UNSAT" or (said == "SAT" and (both or token.raw.isupper()) and _is_judged(tokens, at)):
            out[at] = replace(token, word="passed" if said == "SAT" else "failed")
    return out


#: What may stand between the head of a line and "SAT", so that it is short for satisfactory and no Saturday.
_NAMES_IT = {"vt", "visual", "insp", "spl", "sp", "splice", "splices", "weld", "welds", "joint", "joints", "no", "nos", "number", "numbers", "#", ",", "and", "-", "to", "thru", "through", ":", "="}  # fmt: skip
_THING = {"sample", "coupon", "one", "weld", "splice", "joint", "test"}


def _is_judged(tokens: list[Token], at: int) -> bool:
    """ "SPL 41-44 SAT", "daily sample SAT": nothing but splices before it on its line, or the thing judged."""
    if at and tokens[at - 1].word in _THING:
        return True
    back = at - 1
    while back >= 0 and (tokens[back].form == "int" or tokens[back].word in _NAMES_IT):
        back -= 1
    return back < at - 1 and (back < 0 or tokens[back].raw in {"\n", ".", ";", "("})
