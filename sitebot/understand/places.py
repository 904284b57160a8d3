# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Where on the site: "wall B3", "the valve pit", "losa de techo", a bare "B3".

With a gazetteer the site's own names come first; without one a place is whatever the text names as one.
"""

from __future__ import annotations

import itertools
import re

from sitebot.understand import lexicon
from sitebot.understand.context import Gazetteer
from sitebot.understand.facts import words
from sitebot.understand.facts.kinds import KINDS
from sitebot.understand.marks import Text
from sitebot.understand.own_places import COUNTED, LOOSE, mark_known, mark_short, words_of
from sitebot.understand.repair import ordinary
from sitebot.understand.spelling import fold

_CODE = re.compile(r"[a-z]{1,2}-?\d{1,3}[a-z]?|\d{1,2}[a-z]")
_NOT_CODES = {"am", "pm"}
_IN = {
    "on",
    "at",
    "in",
    "en",
    "del",
    "by",
    "up",
    "over",
    "near",
    "from",
    "for",
    "doon",
    "down",
    "inside",
    "onto",
    "of",
    "to",
}
_ARTICLES = {"the", "el", "la", "los", "las", "da", "de", "di", "a", "t", "that"}
_SPANISH_OF = {"de", "del"}


def mark_places(text: Text, gazetteer: Gazetteer) -> None:
    """Lay marks over places."""
    mark_known(text, gazetteer)
    mark_short(text, gazetteer)
    for start, end in list(text.find("place_noun")):
        if text.free(start, end):
            _grow(text, start, end)
    for at, token in enumerate(text.tokens):
        if (
            token.form in {"code", "station"}
            and text.free(at)
            and _CODE.fullmatch(token.word.replace(" ", ""))
            and token.word not in _NOT_CODES
        ):
            text.add("place", at, at + 1, token.raw)
    _elevations(text)
    _join(text)
    told = any(t.form == "int" for t in text.tokens) or any(text.has(f"kind.{kind}") for kind in KINDS)
    if told and not (text.of("place") or gazetteer.places):
        _unheard(text)


def _unheard(text: Text) -> None:
    """ "en el sumidero", "by the trifurcation": a noun nobody listed, with its article behind a word that says where."""
    for at in range(2, len(text.tokens)):
        article, lead = text.word(at - 1), text.word(at - 2)
        told = (article in _THE and lead in _WHERE) or (
            article in {"al", "del"} and lead in {"junto", "cerca", "dentro"}
        )
        token = text.tokens[at]
        numbered = article in _WHERE and at + 1 < len(text.tokens) and text.tokens[at + 1].form == "int"
        if (
            (told or numbered)
            and token.form == "word"
            and text.free(at)
            and _is_unheard(token.word)
            and token.raw.islower()
        ):
            end = _right(text, at + 1)
            text.add("place", at, end, _name(text, at, end))
            return


def _is_unheard(word: str) -> bool:
    known = lexicon.known_words() | ordinary() | words.counted_words()
    return len(word) > 4 and word not in known and not word.endswith(("ing", "ed", "mente", "ndo"))


_THE = {"the", "el", "la", "los", "las"}
_WHERE = {"en", "on", "at", "in", "by", "near", "sobre", "inside"}


def _elevations(text: Text) -> None:
    """ "el. 142" is a height, no splice."""
    for at, token in enumerate(text.tokens[:-2]):
        if (
            token.word in {"el", "elev", "elevation"}
            and text.word(at + 1) == "."
            and text.tokens[at + 2].form == "int"
            and not text.spanish
            and text.free(at, at + 3)
        ):
            text.add("elev", at, at + 3, text.tokens[at + 2].value)


def _is_name(text: Text, at: int) -> bool:
    """A number, letter or code that names one of several walls, slabs ..."""
    if not (0 <= at < len(text.tokens)) or not text.free(at):
        return False
    token = text.tokens[at]
    if token.form in {"code", "station"}:
        return True
    if token.form == "int" and (token.value or 0) < 1000:
        return _names_place(text, at)
    return (
        token.form == "word"
        and len(token.raw) == 1
        and token.raw.lower() in "abcdefghijkpqrst"
        and (
            (token.raw.isupper() and token.raw not in {"A", "I", "Y"})
            or (token.raw.isupper() and text.word(at + 1) in {"", ",", ".", "on", "en", "me", ":", "and"})
            or token.raw.lower() not in {"a", "i", "y", "e", "o", "d", "r", "q", "k"}
            or (token.raw == "a" and text.word(at + 1) in {",", ".", ""})
        )
        and text.word(at + 1) not in {"<n>"}
    )


def _names_place(text: Text, at: int) -> bool:
    token = text.tokens[at]
    after = text.word(at + 1)
    if (token.spelled and after in COUNTED) or after in {"am", "pm", "oclock", "degrees", "a.m", "o"}:
        return False
    walls = text.word(at - 1) in {"wall", "muro", "slab", "losa", "pared"}
    if token.value in {90, 45, 135} and text.word(at - 2) in {"the", "al", "el"} and walls:
        return False
    if _counts_kind(text, at):
        return False
    if after in {"is", "es"} and text.word(at + 3) in {"number", "splice", "tag", "numero", "empalme"}:
        return False
    if 260 <= (token.value or 0) <= 480 and text.word(at - 1) not in {"nivel", "station", "sta", "el", "level"}:
        return False
    if (
        after in {"at", "on", "en", "in"}
        and (
            text.word(at + 2) in words_of("place_before")
            or (
                text.word(at + 2) in {"the", "el", "la"}
                and text.word(at + 3) in words_of("place_noun") | words_of("place_before")
            )
        )
        and text.word(at - 1) not in {"wall", "slab", "pour", "muro", "losa"}
        and not _is_counted(text, at)
    ):
        return False
    if text.word(at - 1) in _BARE_NOUNS and after in COUNTED | {"done"}:
        return False
    return text.word(at - 1) not in {",", ".", ":"}


#: What is counted below ground too: "nivel -2".
_BELOW = {"nivel", "level", "cota", "planta", "sotano", "basement"}
#: Places that are seldom numbered: a number behind them counts what follows.
_BARE_NOUNS = {"sump", "apron", "weir", "landing", "spillway", "culvert", "floor", "roof", "forebay", "side"}


def _is_counted(text: Text, at: int) -> bool:
    """ "three crosses, vault 5 on the river side": the splices have their count before, so that this is the place's number."""
    return any(t.form == "int" and text.word(i + 1) in COUNTED for i, t in enumerate(text.tokens[:at]))


def _counts_kind(text: Text, at: int) -> bool:
    """ "pit wall 4 butts, ring beam 1 wye": in a list of places each number is the count of the kind behind it."""
    pairs = [
        i
        for i, token in enumerate(text.tokens[:-1])
        if token.form == "int" and text.word(i + 1) in COUNTED and text.word(i - 1) in words_of("place_noun")
    ]
    leads = [i for i, token in enumerate(text.tokens) if token.form == "int"]
    return at in pairs and len(pairs) > 1 and pairs == leads


#: "can we pour wall 3", "el colado del muro norte": what is done to the place, no part of its name.
_POURED = {"pour", "colado", "vaciado", "hormigonado", "fundida", "colada"}


def _grow(text: Text, start: int, end: int) -> None:
    before, nouns = words_of("place_before"), words_of("place_noun")
    if end - start == 1 and text.word(start) in LOOSE and not (
        _is_name(text, end) or text.word(start - 1) in before or text.word(end) in _SPANISH_OF or text.word(end) in words_of("compass") or (text.word(start - 1) in _ARTICLES and text.word(start - 2) in _IN and text.word(start) not in {"pour", "line", "end", "side", "corner", "well", "bench", "joint", "junta", "colado", "section", "seccion"})
    ):  # fmt: skip
        return
    if (
        end < len(text.tokens)
        and text.word(start) in {"junta", "joint", "section", "seccion"}
        and text.tokens[end].form == "int"
        and not _is_lettered(text, end)
    ) and (
        text.word(start) in {"joint", "section"}
        or text.word(start - 1) not in {"en", "la"}
        or text.word(start - 1) == "la"
    ):
        return
    while (text.word(start - 1) in before or text.word(start - 1) in nouns) and text.free(start - 1) and start > 0:
        if text.word(start - 1) in _POURED:
            break
        start -= 1
    if (
        text.word(start - 1)
        and len(text.word(start - 1)) == 1
        and text.tokens[start - 1].form == "word"
        and text.word(end - 1) in {"row", "line"}
        and not _is_name(text, end)
    ):
        start -= 1
    end = _right(text, end)
    while end - start > 2 and text.word(start) in _POURED and text.word(end - 1) not in _POURED:
        start += (
            1 + (text.word(start + 1) in {"de", "del", "the"}) + (text.word(start + 2) in {"la", "el", "los", "las"})
        )
    text.add("place", start, end, _name(text, start, end))


def _name(text: Text, start: int, end: int) -> str:
    """The place as written, a number in letters as figures."""
    for at in range(start, end):
        token = text.tokens[at]
        if (
            token.form == "word"
            and fold(token.raw) != token.word
            and token.word in words_of("place_noun") | words_of("place_before") | words_of("compass")
        ):
            shown = [
                t.word
                if t.form == "word"
                and t.word in words_of("place_noun") | words_of("place_before") | words_of("compass")
                else t.raw
                for t in text.tokens[start:end]
            ]
            return " ".join(shown)
    last = text.tokens[end - 1]
    if last.spelled and last.value is not None:
        return f"{text.raw(start, end - 1)} {last.value:g}"
    return text.raw(start, end)


def _right(text: Text, end: int) -> int:
    """First token after the name."""
    below = text.word(end) == "-" and text.word(end - 1) in _BELOW
    if below and _is_name(text, end + 1) and text.tokens[end + 1].glued:
        return end + 2
    if text.word(end) in {"no", "number", "num", "#"} and _is_name(text, end + 1) and text.word(end) != "no":
        return end + 2
    if (
        text.word(end) in _SPANISH_OF
        and text.word(end + 1)
        and text.free(end, end + 2)
        and text.tokens[end + 1].form == "word"
    ):
        skip = 1 if text.word(end + 1) in _ARTICLES else 0
        after = end + 2 + skip
        if text.word(end + 1 + skip) not in _TIMES and (
            len(text.word(end + 1 + skip)) > 3 or text.word(end + 1 + skip) in words_of("place_noun")
        ):
            return _right(text, after)
    if text.word(end) in words_of("compass") and text.free(end) and text.word(end) not in {"derecho"}:
        return _right(text, end + 1)
    if not _is_name(text, end):
        return end
    spans = text.word(end - 1) in _SPANNED and text.word(end + 1) in {"to", "-", "thru", "through", "a", "al"}
    spans = (spans and _is_name(text, end + 2)) or _is_lettered(text, end)
    return end + 3 if spans else end + 1


def _is_lettered(text: Text, at: int) -> bool:
    """ "14-B": a letter tied to the number of a place."""
    if text.word(at + 1) != "-" or at + 2 >= len(text.tokens):
        return False
    return text.tokens[at + 1].glued and text.tokens[at + 2].glued and len(text.tokens[at + 2].raw) == 1


#: What is named by two of its lines: "grid 4 to 5".
_SPANNED = {"grid", "gridline", "gridlines", "line", "lines", "axis", "sta", "station", "eje", "ejes", "linea", "bents"}
_TIMES = {"hoy", "ayer", "manana", "tarde", "noche", "semana", "lunes", "martes"}


def _join(text: Text) -> None:
    """ "spillway lift 2", "lock wall monolith 11": neighbours that name one place."""
    marks = text.of("place")
    for left, right in itertools.pairwise(marks):
        if left.end == right.start and not re.search(r"\d$", left.raw) and left in text.marks and right in text.marks:
            text.drop(left)
            text.drop(right)
            text.add("place", left.start, right.end, _name(text, left.start, right.end))
            return _join(text)
