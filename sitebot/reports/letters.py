"""Letters a report can show: texts of people hold signs that its fonts lack. Pure; no file and no font is opened."""

from __future__ import annotations

import unicodedata

#: First and last of what the fonts hold: Latin, Greek, Cyrillic, punctuation, currency, arrows, marks of verdicts.
RANGES = ((0x20, 0x24F), (0x384, 0x3CE), (0x400, 0x45F), (0x2010, 0x2027), (0x2030, 0x203A), (0x2190, 0x2195))
SINGLE = "\n€™−≤≥≠×°●○–◇◆□■△▲"


def printable(text: str) -> str:
    """Signs become their names in brackets, what steers the writing direction goes, letters of other scripts stay out.

    >>> printable("done \U0001f44d")
    'done (thumbs up sign)'
    >>> printable("wall \u202eA")
    'wall A'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(map(_shown, unicodedata.normalize("NFC", text)))


def _shown(letter: str) -> str:
    if letter in SINGLE or (any(a <= ord(letter) <= b for a, b in RANGES) and letter.isprintable()):
        return letter
    match unicodedata.category(letter):
        case "Cc" | "Zs" | "Zl" | "Zp":
            return " "
        case "Cf" | "Mn" | "Me" | "Sk" | "Cs" | "Cn" | "Co":
            return ""
        case "So":
            return f"({unicodedata.name(letter, 'sign').lower()})"
    return "?"
