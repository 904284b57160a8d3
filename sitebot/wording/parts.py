"""A text as SMS: folded to what costs less, its encoding, its parts, and a beginning that fits.

Pure: strings in, strings out. What a text says is settled in wording/; numbers and lines are other modules.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from typing import Literal

from sitebot.wording import gsm

Encoding = Literal["gsm7", "ucs2"]

#: An answer takes at most so many parts; the rest is offered.
MOST_PARTS = 3
#: Units of one message alone and of one part of several: septets (gsm7), UTF-16 units (ucs2). TS 23.038, TS 23.040:
#: 140 octets, less 6 for the header that counts the parts.
ALONE: dict[Encoding, int] = {"gsm7": 160, "ucs2": 70}
OF_SEVERAL: dict[Encoding, int] = {"gsm7": 153, "ucs2": 67}

#: Signs that never go out: phones without them show a box, and "deg" is house style.
_SIGNS = {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u200b": "", "\u2011": "-", "\ufeff": ""}
#: What reads the same in the default alphabet. Accents need no row: they are taken off by decomposition.
_PLAIN = {
    **dict.fromkeys("‘’‚‛`´′", "'"),
    **dict.fromkeys("“”„‟″«»", '"'),
    **dict.fromkeys("‐‑‒–—―−", "-"),
    **dict.fromkeys("•·‣▪", "-"),
    "…": "...",
    "\t": " ",
    "×": "x",
    "÷": "/",
    "±": "+/-",
    "≤": "<=",
    "≥": ">=",
    "≈": "~",
    "≠": "not",
    "→": "->",
    "←": "<-",
    "⁄": "/",
    "º": "o",
    "ª": "a",
    "№": "No",
    "©": "(c)",
    "®": "(R)",
    "™": "TM",
    "Ł": "L",
    "ł": "l",
    "Đ": "D",
    "đ": "d",
    "ı": "i",
}
_FRACTION = re.compile(r"(\d?)([¼½¾⅐-⅞])")
_DEGREE = re.compile(r"\s*[°˚]\s*(?=([A-Za-z0-9])?)")
_SENTENCE_END = re.compile(r"[.;!?](?=\s)|\n")


def encoding(text: str) -> Encoding:
    """The encoding a text needs: the default alphabet where it has every character."""
    return "gsm7" if gsm.has_all(text) else "ucs2"


def fold(text: str, accents: bool = True) -> str:
    """The text with what costs without meaning made plain: marks, fractions, and the accents that GSM-7 lacks.

    Where other characters need UCS-2 anyway (a name in another script), accents cost nothing and stay;
    so do they where the site wants them (``accents`` False) and the text has any.
    """
    if gsm.has_all(text):
        return text
    text = _without_signs(unicodedata.normalize("NFC", text))
    folded = "".join(_plain(c, accents) for c in _FRACTION.sub(_as_digits, text))
    return folded if gsm.has_all(folded) else text


def _without_signs(text: str) -> str:
    text = _DEGREE.sub(lambda m: " deg " if m[1] else " deg", text)
    return "".join(_SIGNS.get(c, "" if _is_direction(c) else c) for c in text)


def _is_direction(c: str) -> bool:
    return "\u200e" <= c <= "\u200f" or "\u202a" <= c <= "\u202e" or "\u2066" <= c <= "\u2069"


def _as_digits(match: re.Match[str]) -> str:
    digits = unicodedata.normalize("NFKC", match[2]).replace("⁄", "/")
    return f"{match[1]} {digits}" if match[1] else digits


def _plain(c: str, accents: bool) -> str:
    if gsm.cost(c):
        return c
    if c in _PLAIN:
        return _PLAIN[c]
    letters = "".join(x for x in unicodedata.normalize("NFKD", c) if not unicodedata.combining(x))
    return letters if accents and letters and gsm.has_all(letters) else c


def units(text: str) -> int:
    """What a text takes in its own encoding: septets or UTF-16 units."""
    if gsm.has_all(text):
        return len(text) + sum(text.count(c) for c in gsm.EXTENSION)
    return sum(map(_measure("ucs2"), text))


def parts(text: str) -> list[str]:
    """The text divided as it goes on air; none ends inside an escape, a surrogate pair or a sign of several signs."""
    how = encoding(text)
    if units(text) <= ALONE[how]:
        return [text]
    if how == "gsm7" and units(text) == len(text):
        return [text[i : i + OF_SEVERAL[how]] for i in range(0, len(text), OF_SEVERAL[how])]
    pieces = text if how == "gsm7" else _whole_signs(text)
    return list(_fill(pieces, _measure(how), OF_SEVERAL[how]))


def _measure(how: Encoding) -> Callable[[str], int]:
    if how == "gsm7":
        return lambda c: gsm.cost(c) or 0
    return lambda s: len(s.encode("utf-16-be", "surrogatepass")) // 2


def _fill(pieces: str | Iterator[str], measure: Callable[[str], int], room: int) -> Iterator[str]:
    part, used = "", 0
    for piece in pieces:
        size = measure(piece)
        if used + size > room:
            yield part
            part, used = "", 0
        part, used = part + piece, used + size
    if part:
        yield part


def _whole_signs(text: str) -> Iterator[str]:
    """Base characters with what modifies them, as far as one part holds that."""
    sign = ""
    for c in text:
        if sign and _continues(sign, c):
            sign += c
            continue
        if sign:
            yield sign
        sign = c
    if sign:
        yield sign


def _continues(sign: str, c: str) -> bool:
    if len(sign.encode("utf-16-be", "surrogatepass") + c.encode("utf-16-be", "surrogatepass")) // 2 > 30:
        return False
    joins = unicodedata.combining(c) or c in "\u200d\ufe0e\ufe0f" or "\U0001f3fb" <= c <= "\U0001f3ff"
    flag = _is_flag_letter(c) and _is_flag_letter(sign)
    return bool(joins) or sign[-1] == "\u200d" or flag


def _is_flag_letter(s: str) -> bool:
    return len(s) == 1 and "\U0001f1e6" <= s <= "\U0001f1ff"


def cut(text: str, limit_parts: int = MOST_PARTS, offer: str = "") -> tuple[str, str]:
    """The beginning that fits into so many parts, and the rest; ``offer`` ("text MORE") ends a beginning that has one.

    Cut behind a sentence where one ends late enough, else between words; a word longer than all the room is cut.
    """
    if len(parts(text)) <= limit_parts:
        return text, ""
    room = _longest(text, limit_parts, offer)
    at = _good_end(text, room)
    first, rest = text[:at].rstrip(), text[at:].lstrip()
    return (first + offer if rest else first), rest


def _longest(text: str, limit_parts: int, offer: str) -> int:
    """How many characters fit with the offer behind them; more characters never take fewer parts."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if len(parts(text[:middle] + offer)) <= limit_parts else (low, middle - 1)
    return low


def _good_end(text: str, room: int) -> int:
    ends = [m.end() for m in _SENTENCE_END.finditer(text) if m.end() <= room]
    if ends and ends[-1] > room // 2:
        return ends[-1]
    if text[room : room + 1].isspace():
        return room
    word = max(text.rfind(" ", 0, room), text.rfind("\n", 0, room))
    return word + 1 if word > 0 else room
