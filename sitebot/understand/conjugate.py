"""Forms of Spanish verbs, so that the lexicon names a verb once: ``{soldar.done}`` is solde, soldamos, soldadas ...

Regular verbs follow their ending; what differs stands in rules/words/es/verbs.yaml. All forms are without accents.
``done`` tells what happened, ``i``, ``he`` and ``they`` who did it, ``it`` what a thing does and did,
``ask`` bids or asks for it, ``will`` means to do it (``to`` without the subjunctive), ``all`` is any of them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_ENDINGS = {
    "ar": (("e", "aste", "o", "amos", "aron"), "ad", "a", "e"),
    "er": (("i", "iste", "io", "imos", "ieron"), "id", "e", "a"),
    "ir": (("i", "iste", "io", "imos", "ieron"), "id", "e", "a"),
}
#: Letters that keep the sound of the stem before e: pegar, pegue; marcar, marque; empezar, empece.
_BEFORE_E = (("gu", "gü"), ("g", "gu"), ("c", "qu"), ("z", "c"))
#: With these before it a verb follows the one it is made of.
_PREFIXES = ("re", "des", "dis", "com", "pro", "im", "ex", "en")
_CLITICS = ("lo", "la", "los", "las", "le", "me", "melo", "mela")


def _soft(stem: str, kind: str) -> str:
    """The stem as it is written before e in -ar verbs."""
    if kind != "ar":
        return stem
    for end, other in _BEFORE_E:
        if stem.endswith(end):
            return stem[: -len(end)] + other
    return stem


def _preterite(stem: str, kind: str, odd: dict[str, Any]) -> list[str]:
    if odd.get("preterite"):
        root = str(odd["preterite"])
        they = "eron" if root.endswith("j") else "ieron"
        third = f"{root[:-1]}zo" if root.endswith("hic") else f"{root}o"
        return [f"{root}e", f"{root}iste", third, f"{root}imos", f"{root}{they}"]
    ends = _ENDINGS[kind][0]
    forms = [stem + end for end in ends]
    forms[0] = _soft(stem, kind) + ends[0]
    if stem[-1] in "aeou" and kind != "ar":
        forms[2], forms[4] = f"{stem}yo", f"{stem}yeron"
    return forms


def _participles(stem: str, kind: str, odd: dict[str, Any]) -> list[str]:
    root = str(odd.get("participle") or stem + _ENDINGS[kind][1])
    return [root + end for end in ("o", "a", "os", "as")]


def _present(stem: str, kind: str, odd: dict[str, Any]) -> list[str]:
    strong, vowel = str(odd.get("present") or stem), _ENDINGS[kind][2]
    first = str(odd.get("first") or strong)
    return [f"{first}o", *(strong + vowel + end for end in ("", "s", "n")), f"{stem}{vowel}mos"]


def _subjunctive(stem: str, kind: str, odd: dict[str, Any]) -> list[str]:
    vowel = _ENDINGS[kind][3]
    strong = _soft(str(odd.get("subjunctive") or odd.get("first") or odd.get("present") or stem), kind)
    weak = _soft(str(odd.get("subjunctive") or odd.get("first") or stem), kind)
    return [*(strong + vowel + end for end in ("", "s", "n")), f"{weak}{vowel}mos"]


def _done(verb: str, odd: dict[str, Any]) -> list[str]:
    stem, kind = verb[:-2], verb[-2:]
    return [*_preterite(stem, kind, odd), *_participles(stem, kind, odd)]


def _it(verb: str, odd: dict[str, Any]) -> list[str]:
    """What a thing does and did: abrio, abrieron, abre, abren, abria."""
    stem, kind = verb[:-2], verb[-2:]
    was = stem + ("aba" if kind == "ar" else "ia")
    return [*_preterite(stem, kind, odd)[2::2], *_present(stem, kind, odd)[1::2], was, f"{was}n"]


def _ask(verb: str, odd: dict[str, Any]) -> list[str]:
    stem, kind = verb[:-2], verb[-2:]
    bidden = [*_present(stem, kind, odd)[1:2], *_subjunctive(stem, kind, odd)[::2], stem + _ENDINGS[kind][2]]
    bidden += [str(odd["imperative"])] if odd.get("imperative") else []
    return [*bidden, verb, *(form + clitic for form in (*bidden, verb) for clitic in _CLITICS)]


def _will(verb: str, odd: dict[str, Any]) -> list[str]:
    return [*_to(verb, odd), *_subjunctive(verb[:-2], verb[-2:], odd)]


def _to(verb: str, odd: dict[str, Any]) -> list[str]:
    root = str(odd.get("future") or verb)
    return [verb, *(verb + clitic for clitic in _CLITICS), *(root + end for end in ("e", "as", "a", "emos", "an"))]


def _all(verb: str, odd: dict[str, Any]) -> list[str]:
    stem, kind = verb[:-2], verb[-2:]
    going = stem + ("ando" if kind == "ar" else "iendo")
    was = stem + ("aba" if kind == "ar" else "ia")
    rest = [going, *(going + c for c in _CLITICS[:4]), was, f"{was}n", f"{was}mos"]
    return [*_done(verb, odd), *_ask(verb, odd), *_will(verb, odd), *_present(stem, kind, odd), *rest]


_GROUPS: dict[str, Callable[[str, dict[str, Any]], list[str]]] = {
    "done": _done,
    "i": lambda verb, odd: _preterite(verb[:-2], verb[-2:], odd)[:1],
    "he": lambda verb, odd: _preterite(verb[:-2], verb[-2:], odd)[2:3],
    "they": lambda verb, odd: _preterite(verb[:-2], verb[-2:], odd)[4:5],
    "it": _it,
    "ask": _ask,
    "to": _to,
    "will": _will,
    "all": _all,
}


def conjugated(verb: str, group: str, irregular: dict[str, dict[str, Any]]) -> tuple[str, ...]:
    """The forms of a group, each once; a verb with a prefix follows the one it is made of (rehacer, hacer)."""
    odd = _irregular(verb, irregular)
    return tuple(dict.fromkeys(_GROUPS[group](verb, odd)))


def _irregular(verb: str, irregular: dict[str, dict[str, Any]]) -> dict[str, Any]:
    if verb in irregular:
        return irregular[verb]
    for prefix in _PREFIXES:
        if verb.startswith(prefix) and verb[len(prefix) :] in irregular:
            return {k: prefix + str(v) for k, v in irregular[verb[len(prefix) :]].items()}
    return {}
