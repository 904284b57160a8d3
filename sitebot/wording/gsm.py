"""The default alphabet of SMS (3GPP TS 23.038): which characters it has, what each costs, to septets and back.

Pure tables and arithmetic; how a text is folded and divided is in text.py, who sends it elsewhere.
"""

from __future__ import annotations

ESCAPE = 0x1B
#: Table 6.2.1 of TS 23.038, by code; the escape stands for itself.
BASIC = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
#: Table 6.2.1.1, the extension: two septets each.
EXTENSION = {
    "\f": 0x0A,
    "^": 0x14,
    "{": 0x28,
    "}": 0x29,
    "\\": 0x2F,
    "[": 0x3C,
    "~": 0x3D,
    "]": 0x3E,
    "|": 0x40,
    "€": 0x65,
}
_CODES = {c: code for code, c in enumerate(BASIC) if code != ESCAPE}
_ALL = frozenset(_CODES) | frozenset(EXTENSION)
_EXTENDED = {code: c for c, code in EXTENSION.items()}


def cost(character: str) -> int | None:
    """Septets of one character; None where the alphabet lacks it."""
    if character in _CODES:
        return 1
    return 2 if character in EXTENSION else None


def has_all(text: str) -> bool:
    """Can the text be written in the default alphabet?"""
    return _ALL.issuperset(text)


def septets(text: str) -> bytes:
    """The text as codes, one septet an octet; ValueError where the alphabet lacks a character."""
    codes = bytearray()
    for c in text:
        if c in _CODES:
            codes.append(_CODES[c])
        elif c in EXTENSION:
            codes += bytes((ESCAPE, EXTENSION[c]))
        else:
            raise ValueError(f"no septet for {c!r}")
    return bytes(codes)


def of_septets(codes: bytes) -> str:
    """The text of unpacked septets. An escape at the very end stays, for the part that may follow (see ``mend``)."""
    text: list[str] = []
    escaped = False
    for code in codes:
        if escaped:
            # TS 23.038: a code without entry in the extension table shows as that of the basic table.
            text.append(_EXTENDED.get(code, " " if code == ESCAPE else BASIC[code & 0x7F]))
            escaped = False
        elif code == ESCAPE:
            escaped = True
        else:
            text.append(BASIC[code & 0x7F])
    return "".join(text) + ("\x1b" if escaped else "")


def mend(joined: str) -> str:
    """A text joined from parts: escapes and surrogate pairs that a careless sender split are whole again."""
    head, *tails = joined.split("\x1b")
    mended = head + "".join(_after_escape(tail) for tail in tails)
    # Without NUL, which PostgreSQL does not take: such a text could never be kept, and would come again for ever.
    return mended.encode("utf-16-be", "surrogatepass").decode("utf-16-be", "replace").replace("\0", "")


def _after_escape(tail: str) -> str:
    code = _CODES.get(tail[:1], -1)
    return _EXTENDED.get(code, tail[:1]) + tail[1:]
