"""A text cut to what a phone should get at once; the rest is offered with "more"."""

from __future__ import annotations

from sitebot.wording.parts import cut, fold

_MORE = {"en": " (text MORE)", "es": " (mande MAS)"}


def fit(text: str, language: str) -> tuple[str, str]:
    """The beginning that fits into three parts of a text message, and the rest.

    Measured as it will be sent: only a text too long for that is folded and cut.
    """
    first, rest = cut(fold(text), offer=_MORE[language])
    return (first, rest) if rest else (text, "")
