# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""The site's own names for places: as the plan has them, as the crew calls them, and in short ("west" for "gallery west").

Places that only the text names are found in places.py.
"""

from __future__ import annotations

import re
from functools import cache

from sitebot.understand import lexicon
from sitebot.understand.context import Gazetteer
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

#: Nouns that name a place only with a number, a compass word or an article beside them.
LOOSE = {"marco", "panel", "cuerpo", "pour", "lift", "line", "key", "place", "base", "end", "side", "floor", "field", "box", "well", "bench", "lado", "junta", "joint", "frente", "section", "seccion", "corner", "stop", "door", "notch", "cap", "unit", "level", "row", "area", "ring", "frame", "plant", "toe", "toma", "fondo", "piso", "techo", "boca", "colado", "bridge", "rack", "tower", "vent", "wing", "slot", "span", "bent", "cell", "shelf"}  # fmt: skip
COUNTED = {
    "wye",
    "wyes",
    "tope",
    "topes",
    "recta",
    "rectas",
    "recto",
    "rectos",
    "tes",
    "esquina",
    "esquinas",
    "cruces",
    "butt",
    "butts",
    "tee",
    "tees",
    "corner",
    "corners",
    "more",
    "cross",
    "crosses",
    "straight",
    "straights",
    "flat",
    "edge",
    "splices",
    "empalmes",
    "mas",
}


@cache
def words_of(key: str) -> frozenset[str]:
    """The single words of a meaning."""
    choices = (c for p in lexicon.phrases().get(key, ()) for c in re.split(r"[()|]", fold(p)))
    return frozenset(c.rstrip("*") for c in choices if re.fullmatch(r"[a-z]+\*?", c))


def mark_known(text: Text, gazetteer: Gazetteer) -> None:
    """The site's own names and what the crew calls them."""
    names = {fold(n): n for n in gazetteer.places} | {fold(k): v for k, v in gazetteer.nicknames.items()}
    squeezed = [t.word.replace("-", "") for t in text.tokens]
    for said in sorted(names, key=len, reverse=True):
        words = re.findall(r"[a-z]+\d*|\d+", said.replace("-", ""))
        for at in range(len(squeezed) - len(words) + 1):
            if squeezed[at : at + len(words)] == words and text.free(at, at + len(words)):
                text.add("place", at, at + len(words), names[said])


def mark_short(text: Text, gazetteer: Gazetteer) -> None:
    """A word that only one place of the site has names it: "west" for "gallery west", "sump" for "sump pit"."""
    nouns = words_of("place_noun") | _SIDES
    for word, name in _own_words(gazetteer.places).items():
        for at in range(len(text.tokens)):
            near = {text.word(at - 1), text.word(at + 1)} & nouns
            if text.word(at) == word and text.free(at) and not near and not _is_another(text, at + 1, name):
                text.add("place", at, at + 1, name)


def _is_another(text: Text, at: int, name: str) -> bool:
    """A number behind the word names another place ("chamber 3"), unless it begins a list of splices ("sump 13 14")."""
    token = text.tokens[at] if at < len(text.tokens) else None
    if token is None or token.form not in {"int", "code"}:
        return False
    step = 2 if text.word(at + 1) in {",", "and", "y", "n", "&"} else 1
    behind = text.tokens[at + step] if at + step < len(text.tokens) else None
    listed = behind is not None and behind.form == "int" and (behind.value or 0) == (token.value or 0) + 1
    return bool(re.search(r"\d", name)) or not (listed or text.word(at + 1) in COUNTED)


@cache
def _own_words(places: tuple[str, ...]) -> dict[str, str]:
    """Each word that tells one place from all others. Words that mean much else as well ("main", "wall") tell nothing."""
    told: dict[str, set[str]] = {}
    for name in places:
        for word in set(re.findall(r"[a-z]{3,}", fold(name))):
            told.setdefault(word, set()).add(name)
    vague = (words_of("place_before") - _SIDES - words_of("place_noun")) | LOOSE | _GENERAL | words_of("small_word")
    return {word: next(iter(names)) for word, names in told.items() if len(names) == 1 and word not in vague}


_SIDES = frozenset(["north", "south", "east", "west", "norte", "sur", "oeste", "oriente", "poniente"])
#: Nouns so often numbered or general that one alone names no place of the plan.
_GENERAL = frozenset(
    [
        "wall",
        "slab",
        "muro",
        "losa",
        "pared",
        "bay",
        "wing",
        "zone",
        "sector",
        "area",
        "unit",
        "cell",
        "block",
        "level",
        "station",
    ]
)
