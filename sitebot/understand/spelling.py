# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Letters: one form for what can be written in many ways (width, case, accents, quotes, contractions, shorthand).

Nothing is understood here, and no number is read.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_HIDDEN = re.compile("[\u200b-\u200f\u202a-\u202e\u2060-\u2064\ufeff\u00ad\ufe0f\u0000-\u0008\u000b-\u001f]")
_MARKS = str.maketrans(
    {
        "’": "'", "‘": "'", "`": "'", "´": "'", "“": '"', "”": '"', "″": '"', "′": "'", "–": "-", "—": "-", "−": "-",
        "º": "°", "˚": "°", "×": "x", "…": ".", "⁄": "/", "«": '"', "»": '"', "¿": " ", "¡": " ", "\t": " ",
    }
)  # fmt: skip
_CONTRACTIONS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(a, re.IGNORECASE), b)
    for a, b in (
        (r"\b(cannot|can'?t|cannae)\b", "can not"),
        (r"\bwon'?t\b", "will not"),
        (r"\bain'?t\b", "is not"),
        (r"\b(do|does|did|is|was|are|were|has|have|had|could|would|should)n'?t\b", r"\1 not"),
        (r"\b(has|is|did|was|do)nae\b", r"\1 not"),
        (r"\b(havn|haven|havin|hvn)'?t\b", "have not"),
        (r"\b(dint|didint|diddnt|dident)\b", "did not"),
        (r"\b(what|who|where|that|it|there|she|he|how|when|whit)'?s\b", r"\1 is"),
        (r"\bi'?m\b", "i am"),
        (r"\bi'?ve\b", "i have"),
        (r"\b(should|would|could|must|might)(?:'?ve|'?a| of)\b", r"\1 have"),
        (r"\bi'(ll|d)\b", "i will"),
        (r"\b(you|we|they|he|she|it|that|y)'(ll|d)\b", r"\1 will"),
        (r"\b(you|we|they|y|who)'(re|all)\b", r"\1 are"),
        (r"\b(you|we|they)'ve\b", r"\1 have"),
        (r"\b(gonna|gunna|goin to|finna)\b", "going to"),
        (r"\bgotta\b", "have to"),
        (r"(?<=[a-z])'s\b", ""),
        (r"(?<=\d)'?s\b", ""),
        (r"(?<=[a-z])'(?=[a-z])", ""),
        (r"(?<=[a-z]in)'", ""),
    )
)
#: Shorthand of the thumb: one word for one word.
_SHORT = {
    "abd": "and", "adn": "and", "nad": "and", "teh": "the", "hte": "the", "doen": "done", "u": "you", "ur": "your", "r": "are", "n": "and", "nd": "and", "w": "with", "wit": "with", "wi": "with",
    "wth": "with", "pls": "please", "plz": "please", "thx": "thanks", "tmrw": "tomorrow", "tmw": "tomorrow",
    "tomorow": "tomorrow", "tmrrw": "tomorrow", "tonight": "tonight", "tonite": "tonight", "bc": "because",
    "cuz": "because", "cause": "because", "mornin": "morning", "nothin": "nothing", "dun": "done", "finishd": "finished",
    "bout": "about", "sp": "splice", "numbr": "number", "num": "number", "nbr": "number", "tomoro": "tomorrow",
    "bfore": "before", "mor": "more", "reyt": "right", "lil": "little", "nuff": "enough", "enuf": "enough",
    "q": "que", "k": "que", "xq": "porque", "pq": "porque", "pa": "para", "pal": "para el", "d": "de", "x": "por",
    "tmb": "tambien", "mnn": "manana", "porfa": "por favor", "xfa": "por favor",
    "ke": "que", "bn": "bien", "ise": "hice", "hise": "hice", "tamo": "estamos", "tamos": "estamos", "toy": "estoy", "stan": "estan", "kon": "con", "cn": "con", "oy": "hoy", "yevo": "llevo", "ta": "esta", "aki": "aqui", "qdo": "quedo", "hize": "hice", "orita": "ahorita",
    "horita": "ahorita", "estension": "extension", "estensiones": "extensiones", "cierra": "sierra", "esqina": "esquina",
    "splcie": "splice", "wtrstop": "waterstop", "poor": "pour", "insp": "inspector", "rej": "reject", "nr": "number",
    "thurs": "thursday", "thur": "thursday", "thu": "thursday", "fri": "friday", "mon": "monday", "tue": "tuesday",
    "tues": "tuesday", "wed": "wednesday", "sat": "saturday", "sundah": "sunday", "sundays": "sunday", "hr": "hour",
    "hrs": "hours", "mins": "minutes", "min": "minutes", "secs": "seconds", "sec": "seconds", "seg": "segundos",
    "dn": "done", "nt": "not", "gd": "good", "ct": "cut", "gt": "got", "ws": "was", "wr": "were", "hw": "how", "hv": "have", "hd": "had", "mk": "make",
    "md": "made", "bf": "before", "fr": "for", "jt": "joint", "jts": "joints", "wl": "wall", "sz": "says", "rt": "right", "bt": "butt",
    "plugd": "plugged", "cnr": "corner", "cnrs": "corners", "celcius": "celsius", "gimme": "give me",
}  # fmt: skip


#: Whether any of them stands there: most phrases hold none.
_CONTRACTED = re.compile("|".join(f"(?:{e.pattern})" for e, _ in _CONTRACTIONS), re.IGNORECASE)


def clean(text: str) -> str:
    """The text with one form for quotes, dashes, widths and spaces; case and accents stay."""
    for mark, plain in _VULGAR.items():
        text = text.replace(mark, f" {plain}")
    text = unicodedata.normalize("NFKC", _HIDDEN.sub("", text.translate(_MARKS))).translate(_MARKS)
    text = re.sub(r"\b[A-Za-z](?:-[A-Za-z]){2,}\b", lambda m: m.group().replace("-", ""), text)
    text = re.sub(r"(?<=\d)\s+1/(\d)\b", r" 1/\1", text)
    return re.sub(r"[ \u00a0]+", " ", text).strip()


def fold(text: str) -> str:
    """Lower case without accents."""
    return unicodedata.normalize("NFKD", text.lower()).encode("ascii", "ignore").decode()


def contract(text: str) -> str:
    """Contractions written out, the same whether an apostrophe stands or not (text already folded)."""
    if _CONTRACTED.search(text):
        for expression, plain in _CONTRACTIONS:
            text = expression.sub(plain, text)
    return text


@lru_cache(maxsize=20_000)
def plain(text: str) -> str:
    """Folded, contractions and shorthand written out: the form in which phrases are compared."""
    return re.sub(r"[a-z0-9]+", lambda m: short(m.group()), contract(fold(text)))


def short(word: str) -> str:
    """The word that a shorthand stands for, or the word itself."""
    return _SHORT.get(word, word)
