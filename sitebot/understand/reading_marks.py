"""The stations in their order: from the text as it came to its marks."""

from __future__ import annotations

from collections.abc import Callable

from sitebot.understand.angles import mark_angles
from sitebot.understand.context import Gazetteer
from sitebot.understand.heats import mark_heats
from sitebot.understand.irons import mark_irons
from sitebot.understand.marks import Text
from sitebot.understand.numbering import mark_numbers
from sitebot.understand.places import mark_places
from sitebot.understand.quantities import mark_quantities
from sitebot.understand.times import mark_times
from sitebot.understand.tokens import read_tokens

_SPANISH = frozenset(
    [
        "el",
        "la",
        "los",
        "las",
        "de",
        "del",
        "que",
        "y",
        "en",
        "con",
        "por",
        "para",
        "un",
        "una",
        "es",
        "son",
        "fue",
        "ya",
        "no",
        "se",
        "le",
        "lo",
        "me",
        "mi",
        "al",
        "mas",
        "hoy",
        "ayer",
        "manana",
        "muro",
        "losa",
        "empalme",
        "plancha",
        "esquina",
        "cuanto",
        "cuantos",
        "como",
        "porque",
        "esta",
        "estan",
        "quedo",
        "pega",
        "soldar",
        "hicimos",
        "hice",
        "pasa",
        "bien",
        "mal",
        "muestra",
        "va",
        "van",
    ]
)
_ENGLISH = frozenset(
    [
        "the",
        "is",
        "are",
        "was",
        "it",
        "of",
        "on",
        "to",
        "in",
        "at",
        "and",
        "or",
        "for",
        "with",
        "did",
        "do",
        "done",
        "we",
        "i",
        "my",
        "this",
        "that",
        "what",
        "how",
        "many",
        "you",
        "not",
        "no",
        "got",
        "ok",
        "iron",
        "wall",
        "weld",
        "joint",
        "good",
        "need",
        "can",
        "one",
        "all",
        "new",
        "from",
        "will",
        "have",
    ]
)


def read_marks(text: str, gazetteer: Gazetteer, repair: Callable[[str], str] = lambda w: w) -> Text:
    """Tokens and marks of a text."""
    tokens = read_tokens(text, repair)
    words = [t.word for t in tokens if t.form == "word"]
    spanish = sum(w in _SPANISH for w in words) > sum(w in _ENGLISH for w in words)
    row = Text(tokens, spanish=spanish)
    mark_quantities(row)
    mark_irons(row)
    mark_places(row, gazetteer)
    mark_times(row)
    mark_heats(row)
    mark_angles(row)
    mark_numbers(row)
    return row
