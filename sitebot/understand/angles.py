"""Angles that stand beside a kind or a cut: "90 corner", "flat 90s", "cut 45 each side", "all legs 120".

An angle with its degree word is marked in quantities.py; what is asked of the saw is read in facts/cuts.py.
"""

from __future__ import annotations

from sitebot.understand.marks import Text

_USUAL = {15, 22.5, 30, 45, 60, 72, 75, 90, 105, 120, 135, 150}
_CORNERS = {
    "corner",
    "corners",
    "esquina",
    "esquinas",
    "cnr",
    "codo",
    "codos",
    "ell",
    "turn",
    "turns",
    "bend",
    "kick",
    "miter",
    "miters",
}
_BEFORE_90 = {
    "flat",
    "edge",
    "standing",
    "upright",
    "vertical",
    "up",
    "canto",
    "plana",
    "planas",
    "plano",
    "parada",
    "flats",
}
_CUTS = {"cut", "legs", "all legs", "patas", "kicks", "turns", "miter", "deg"}


def mark_angles(text: Text) -> None:
    """Lay ang marks over usual angles beside a corner or a cut."""
    for at, token in enumerate(text.tokens):
        if token.value not in _USUAL or not text.free(at) or token.form not in {"int", "decimal"}:
            continue
        before, after = text.word(at - 1), text.word(at + 1)
        right = token.value == 90 and (
            (after in _CORNERS and before not in {"#", "number", "no", "splice", "el", "la"}) or before in _BEFORE_90
        )
        if (
            right
            or (before in _CUTS and after in {"each", "a", "", ".", ",", "cada", "the", "on", "degrees"})
            or (token.value == 90 and after in {"flat", "edge", "corner", "flats"})
        ):
            text.add("ang", at, at + 1, token.value, "deg")
