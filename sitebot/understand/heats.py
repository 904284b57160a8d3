# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Bare three-digit numbers that are the heat of an iron: "@370", "iron 2 368", "375 on the pyro".

A number after a splice sign or in a row of splice numbers is none.
"""

from __future__ import annotations

from sitebot.understand.marks import Text
from sitebot.understand.quantities import heat_f

_BEFORE = {
    "trae", "marcaba", "marco", "tiene", "anda", "va", "lleva", "ronda", "leyo", "lee", "leyendo", "marcando", "midio", "subio", "bajo", "llego", "cayo", "los", "temperatura", "lectura", "registra", "mide", "indica", "esta", 
    "@", "at", "temp", "temperature", "reads", "reading", "read", "says", "say", "pyro", "dial", "showing", "showin", "shows", "show",
    "marca", "con", "was", "is", "only", "a", "en", "fue", "era", "eran", "to", "past", "dio", "hit", "ran", "bumpin", "clocked",
    "stuck", "heat", "f", "than", "under", "over", "iron", "irons", "plancha", "dropped", "sagged", "da", "traigo", "de", "it", "texted",
    "running", "runnin", "about", "like", "range", "target", "no", "stayed", "stays", "held", "holds", "holding", "steady", "kept", "hovered", "hovering", "mantuvo", "aguanto",
}  # fmt: skip
_NUMBER = {
    "#",
    "number",
    "numbers",
    "splice",
    "splices",
    "empalme",
    "empalmes",
    "no",
    "nos",
    "numero",
    "joint",
    "joints",
    "el",
    "la",
    "al",
    "del",
    "los",
    "las",
    "weld",
    "welds",
    "call",
    "union",
}
_AFTER = {
    "on",
    "en",
    "f",
    "and",
    "y",
    "ish",
    "now",
    "?",
    ",",
    ".",
    "",
    "go",
    "iron",
    "throughout",
    "close",
    "both",
    "pa",
    "le",
    "o",
    "all",
    "the",
    "for",
    "of",
    "give",
    "since",
    "ready",
    "in",
    "not",
    "degrees",
    "enough",
}
#: What may stand between an iron and its heat in a list.
_COLUMN = {"|", "-", ":", "/", "=", "\t"}
#: Where a heat is read: "375 on the face".
_FACES = {"face", "gun", "pyro", "pyrometer", "dial", "plate", "thermometer", "gauge", "pistola", "cara", "pirometro"}
_THROUGH = {"to", "thru", "through", "al", "a", "-", "hasta"}
_LINKS = {",", "and", "&", "y", "/", "-", "to", "thru", "through", "al", "+", "n"}


def mark_heats(text: Text) -> None:
    """Lay temp marks over bare heats."""
    for at, token in enumerate(text.tokens):
        if token.form != "int" or not text.free(at) or token.value is None:
            continue
        if 260 <= token.value <= 480 and _is_heat(text, at):
            text.add("temp", at, at + 1, heat_f(token.value, "F"), "F")
        elif 140 <= token.value <= 230 and (
            _is_celsius(text, at) or (any(t.word in {"celsius", "centigrados"} for t in text.tokens) and at < 3)
        ):
            text.add("temp", at, at + 1, heat_f(token.value, "C"), "C")


def _is_heat(text: Text, at: int) -> bool:
    before = text.word(at - 1)
    if _row_of_numbers(text, at):
        return False
    behind = at - 1
    while text.word(behind) in _COLUMN and behind > at - 3:
        behind -= 1
    near = text.mark_at(behind)
    if near and near.kind == "iron":
        return True
    behind_it = text.mark_at(at + 1) or text.mark_at(at + 2)
    if text.word(at + 1) in {"la", "en"} and behind_it is not None and behind_it.kind == "iron":
        return True
    if text.word(at + 1) in {"on", "for"} and behind_it is not None and behind_it.kind == "iron":
        return True
    if text.word(at + 1) in {"on", "at", "en"} and {text.word(at + 2), text.word(at + 3)} & _FACES:
        return True
    if before in {"/", "|"} and text.has("sample") and text.word(at + 1) in {"/", "|", ""}:
        return True
    if before == "los" and text.word(at - 2) in _BEFORE:
        return True
    if before in _NUMBER and not (before in {"la", "el"} and text.has("event.reading") and False):
        return False
    if before in _BEFORE:
        return before not in {"a", "en", "de", "con"} or not text.has("sample") or True
    if before in {"", ".", ";"} and text.word(at + 1) in {"now", "ya", "ahora", "already", "ahorita", "f", "degrees"}:
        return True
    about_iron = text.has("iron_noun") or text.has("event.reading") or bool(text.of("iron"))
    if about_iron:
        return text.word(at + 1) in _AFTER or before in {",", ".", ""}
    alone = len(text.tokens) <= 3
    return alone or (
        at > 0
        and text.word(at + 1) in {",", ".", "", "?", "!", "now", "f"}
        and (before in {",", "."} or at == len(text.tokens) - 1)
    )


def _is_celsius(text: Text, at: int) -> bool:
    near = text.mark_at(at - 1)
    if _row_of_numbers(text, at):
        return False
    if near and near.kind == "iron":
        return True
    if text.word(at - 1) not in {"at", "@", "a", "esta", "marca", "on", "reads", "says", "temp", "no"}:
        return False
    celsius = any(m.unit == "C" for m in text.of("temp")) or text.matches(r" (celsius|centigrados) ")
    return (
        (text.has("iron_noun") or celsius) and text.word(at + 1) not in {"psi", "ft"} and text.word(at - 1) != "no"
    ) or celsius


def _spans(text: Text) -> list[tuple[float, float]]:
    """ "401 to 409": the splices a number elsewhere may be one of."""
    ends = zip(text.tokens, text.tokens[1:], text.tokens[2:], strict=False)
    found = [(a.value, b.value) for a, link, b in ends if link.word in _THROUGH and a.form == b.form == "int"]
    return [(a, b) for a, b in found if a is not None and b is not None and 0 < b - a <= 30]


def _row_of_numbers(text: Text, at: int) -> bool:
    """Whether a number of nearly the same size stands beside it: then both are splices."""
    value = text.tokens[at].value or 0
    if any(low <= value <= high for low, high in _spans(text)):
        return True
    for step in (-1, 1):
        beside = at + step
        links = 0
        while text.word(beside) in _LINKS and links < 2:
            beside, links = beside + step, links + 1
        if 0 <= beside < len(text.tokens):
            other = text.tokens[beside]
            if (
                other.form == "int"
                and other.value is not None
                and 0 < abs(other.value - value) <= 20
                and text.free(beside)
            ):
                return not (text.word(at - 1) == "not" or text.word(beside - 1) == "not")
    return False
