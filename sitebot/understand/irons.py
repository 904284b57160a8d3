"""Which iron is meant: "iron 2", "the big one", "la grande", "both irons".

What happened to it is told by the act. An iron is kept as text: "1", "big", "small", "all".
"""

from __future__ import annotations

import re
from functools import cache

from sitebot.understand import lexicon
from sitebot.understand.facts import words
from sitebot.understand.marks import Text

_NUMBER_SIGNS = {":", "#", "no", ".", "number", "numero", "num", "la", "el", "de", "on"}
_LISTED = {",", "and", "y", "n", "&"}
_LETTERS = frozenset("abcdefgh")


@cache
def _nouns() -> frozenset[str]:
    """Every word that begins a name of an iron."""
    first = (alt.split()[:1] for p in lexicon.phrases()["iron_noun"] for alt in re.split(r"[()|]", p))
    return frozenset(w for some in first for w in some if w.isalpha()) | {"plate"}


def mark_irons(text: Text) -> None:
    """Lay marks over irons that the text names."""
    for key, value in (("all_irons", "all"), ("big_iron", "big"), ("small_iron", "small"), ("new_iron", "new")):
        for start, end in list(text.find(key)):
            to = end + (text.word(end) in _nouns())
            if text.free(start, to) and _is_iron(text, start, to, key):
                text.add("iron", start, to, value)
    for start, end in list(text.find("iron_noun")):
        if text.free(start, end):
            _numbered(text, start, end)
    _before_noun(text)
    _said_la(text)
    _signed(text)


def _said_la(text: Text) -> None:
    """ "con la uno", "en la 2", "se trono la 3": in Spanish the iron is often only its number."""
    for at, token in enumerate(text.tokens):
        if token.form != "int" or not text.free(at) or not 1 <= (token.value or 0) <= 6 or text.word(at - 1) != "la":
            continue
        if not _is_hour(text, at) and (_is_about_irons(text) or _is_held(text, at)):
            text.add("iron", at - 1, at + 1, str(int(token.value or 0)))


def _signed(text: Text) -> None:
    """ "#2 heating since 6:20", "371 on 1", "la 1 lista a 370": a small number where only irons are spoken of."""
    for at, token in enumerate(text.tokens):
        if token.form != "int" or not text.free(at) or not 1 <= (token.value or 0) <= _MOST:
            continue
        if text.word(at + 1) in {"am", "pm", ":"} or words.says("weld_told", text.row()[0]):
            continue
        start = at - (text.word(at - 1) == "la")
        if (text.word(at - 1) == "#" and _is_about_irons(text)) or _is_beside_heat(text, start, at):
            text.add("iron", start, at + 1, str(int(token.value or 0)))


#: No site has more irons that go by their bare number.
_MOST = 6


def _is_beside_heat(text: Text, start: int, at: int) -> bool:
    """ "371 on 1", "370 la 1", "372 en la uno"; "la 1 lista a 370"."""
    told = [i for i, t in enumerate(text.tokens) if t.form == "int" and 300 <= (t.value or 0) <= 430]
    before = start - 1 - (text.word(start - 1) in {"on", "for", "en", "a"})
    linked = start < at or text.word(start - 1) in {"on", "for"}
    leads = start < at and any(
        at < i <= at + 4
        and text.word(i - 1) in {"a", "en", "marca", "trae", ",", ":"}
        and not {text.word(k) for k in range(at, i)} & _nouns()
        for i in told
    )
    return (linked and before in told) or leads


def _is_hour(text: Text, at: int) -> bool:
    """ "a la 1", "a la una y media" is a time."""
    behind = text.word(at + 1) in {"", ",", ".", "y", "de", "am", "pm", "tarde"}
    return text.word(at - 2) == "a" and behind and text.tokens[at].value == 1 and not text.has("cover_noun")


def _is_held(text: Text, at: int) -> bool:
    """ "con la uno", "la muestra de la 2": by the word before it, where irons may be meant."""
    before, after = text.word(at - 2), text.word(at + 1)
    if any(start == at + 1 for key in _KINDS for start, _ in text.find(key)):
        return False  # "la 1 y la 2 rectos"
    if before not in {"con", "en", "de", "a", "y"} or (before == "a" and after in {"y", "de", "am", "pm", "tarde"}):
        return False
    return before == "con" or _may_be_iron(text, before)


_KINDS = tuple(f"kind.{kind}" for kind in ("butt", "flat_corner", "edge_corner", "corner", "tee", "cross", "wye"))
_EVENTS = ("event.plugged_in", "event.unplugged", "event.hot", "event.fault", "cover_noun")
_NO_IRON = ("splice_noun", "rework", "void", "fix", "damage")


def _is_about_irons(text: Text) -> bool:
    """Something happened to an iron, and nothing is said of splices."""
    row = text.row()[0]
    welded = words.says("weld_told", row) or any(text.has(key) for key in _NO_IRON)
    return any(text.has(key) for key in _EVENTS) and (not welded or words.says("iron_part", row))


def _may_be_iron(text: Text, before: str) -> bool:
    if text.has("cover_noun"):
        return True
    keys = ("iron_noun", "event.reading", "event.unplugged", "event.plugged_in", "sample")
    heat = any(t.form == "int" and 300 <= (t.value or 0) <= 430 for t in text.tokens) and not text.has("made")
    return before != "a" and (heat or any(text.has(k) for k in keys))


def _is_iron(text: Text, start: int, end: int, key: str) -> bool:
    said = {text.word(i) for i in range(start, end)}
    if key == "all_irons" and _is_id(text, end) and text.word(end + 1) in _LISTED:
        return False
    if said & _nouns():
        return True
    if key == "all_irons" and _is_about_irons(text):
        return True
    if key in {"all_irons", "new_iron"}:
        return False
    after = text.word(end)
    if after in _nouns():
        return True
    if after in {
        "profile",
        "profiles",
        "bulb",
        "wall",
        "slab",
        "corner",
        "holes",
        "hole",
        "pieza",
        "tank",
        "banda",
        "iron",
        "irons",
        "plancha",
        "game",
        "circulos",
    }:
        return False
    return any(
        text.has(k)
        for k in (
            "event.plugged_in",
            "event.unplugged",
            "event.reading",
            "event.cover_changed",
            "event.fault",
            "ready",
            "event.hot",
            "iron_noun",
        )
    ) or text.word(start) in {"la", "the", "big", "con"}


def _numbered(text: Text, start: int, end: int) -> None:
    at = end
    while text.word(at) in _NUMBER_SIGNS and at - end < 3:
        if (at == end and (text.word(at) == "." or (text.word(at) == ":" and text.word(start).endswith("s")))) or (
            text.word(at) in {"la", "el", "on", "de"} and not _is_id(text, at + 1)
        ):
            break
        at += 1
    if text.word(start) in _nouns() and text.word(start).endswith("s") and not _is_id(text, at):
        return
    if _is_id(text, at):
        token = text.tokens[at]
        value = str(int(token.value)) if token.value is not None else token.word.upper()
        text.add("iron", start, at + 1, value)
        plural = text.word(start).endswith("s")
        while plural and text.word(at + 1) in _LISTED and _is_id(text, at + 2):
            # "planchas 1 y 2": the second is as much an iron as the first.
            at += 2
            text.add("iron", at, at + 1, text.word(at).upper())


def _is_id(text: Text, at: int) -> bool:
    if not (0 <= at < len(text.tokens)) or not text.free(at):
        return False
    token = text.tokens[at]
    if token.form == "int" and (token.value or 99) <= 12:
        return text.word(at + 1) not in {"min", "minutes", "more", "mas"} and not (
            text.word(at + 1) in {"butt", "butts", "tees", "corners", "tee", "topes", "rectos", "en", "and"} and False
        )
    return (
        token.form == "word"
        and token.word in _LETTERS
        and token.raw.lower() != "a"
        and (not text.spanish or (token.raw.isupper() and token.word not in {"e", "o", "y"}))
    )


def _before_noun(text: Text) -> None:
    """ "number two iron", "the 1 iron", "el 2" before the noun."""
    for at, token in enumerate(text.tokens):
        if (
            token.word in _nouns()
            and not token.word.endswith("s")
            and text.free(at - 1, at + 1)
            and at
            and text.tokens[at - 1].form == "int"
        ):
            value = text.tokens[at - 1].value or 99
            if value <= 9 and text.word(at - 2) in {"number", "no", "the", "#", "."}:
                text.add("iron", at - 1, at + 1, str(int(value)))
