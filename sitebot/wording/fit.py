"""A text cut to what a phone should get at once; the rest is offered with "more"."""

from __future__ import annotations

from sitebot.wording.parts import cut, fold

#: So many plain characters fit into three parts whatever their encoding (3 x 67, TS 23.040).
SURELY_FITS = 200
_MORE = {"en": " (text MORE)", "es": " (mande MAS)"}


def fit(text: str, language: str) -> tuple[str, str]:
    """The beginning that fits into three parts of a text message, and the rest.

    Measured as it will be sent: only a text too long for that is folded and cut.
    """
    if len(text) <= SURELY_FITS and text.isascii():
        return text, ""
    first, rest = cut(fold(text), offer=_MORE[language])
    return (first, rest) if rest else (text, "")
