"""Finds the rule a text asks for: an inverted index with BM25 over the rules' words and texts, spelling mended first.

It ranks what is there or says that nothing fits; it makes nothing up. Which rule answers is decided by the caller.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from sitebot.rulebook.model import Rule
from sitebot.rulebook.phrases import fold, plain_words, said, words_of

_K1, _B = 1.4, 0.6
#: What a word weighs by where it stands: in the words people use for the rule, or only in its texts.
_WEIGHT_WORDS, _WEIGHT_CHOICES, _WEIGHT_TEXTS, _WEIGHT_PHRASE = 3.0, 1.0, 0.4, 4.0
#: Below this nothing fits. Held by tests/rulebook/test_search.py: talk of other things stays under it.
LEAST_SCORE = 7.0


@dataclass(frozen=True, slots=True)
class Hit:
    rule: Rule
    score: float


def _stem(word: str) -> str:
    """Endings off, so that weld, welds and welding meet; rough, and the same for both languages."""
    for ending in ("ing", "ed", "es", "s", "ar", "er", "ir", "ando", "iendo", "ado", "ada", "o", "a", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            return word[: -len(ending)]
    return word


def _terms(words: Iterable[str], small: frozenset[str]) -> list[str]:
    return [_stem(w) for w in words if w not in small and len(w) > 1]


class Index:
    """The rules by their words."""

    def __init__(self, rules: Iterable[Rule], small_words: Iterable[str] = ()) -> None:
        self._rules = list(rules)
        #: Words that carry no matter: the, el, can, puedo ...
        self._small = frozenset(small_words)
        self._counts = [_counted(rule, self._small) for rule in self._rules]
        self._long = [sum(c.values()) for c in self._counts]
        self._mean = sum(self._long) / max(1, len(self._long))
        self._having: Mapping[str, int] = Counter(term for c in self._counts for term in c)
        #: Words as they are written, to mend the spelling of a text by.
        self._written = {w for rule in self._rules for w in plain_words(rule.words.all)} | self._small

    def search(self, text: str, folder: str = "") -> list[Hit]:
        """Rules that fit the text, best first; empty where none does. ``folder`` narrows it to ids that begin so."""
        folded = self._mended(fold(text))
        terms = set(_terms(words_of(folded), self._small))
        hits = [Hit(rule, self._score(i, terms) + _phrase_score(rule, folded)) for i, rule in enumerate(self._rules)]
        found = [h for h in hits if h.score >= LEAST_SCORE and h.rule.id.startswith(folder)]
        return sorted(found, key=lambda h: (-h.score, h.rule.id))

    def _mended(self, folded: str) -> str:
        """The text with long words that no rule has put right by the nearest that one has."""
        return f" {' '.join(self._right(w) for w in folded.split())} "

    def _right(self, word: str) -> str:
        if len(word) < 6 or not word.isalpha() or word in self._written or _stem(word) in self._having:
            return word
        near = process.extractOne(word, self._written, scorer=fuzz.ratio, score_cutoff=84)
        return near[0] if near else word

    def _score(self, i: int, terms: set[str]) -> float:
        score = 0.0
        for term in terms & self._counts[i].keys():
            count = self._counts[i][term]
            rarity = math.log(1 + (len(self._rules) - self._having[term] + 0.5) / (self._having[term] + 0.5))
            score += rarity * count * (_K1 + 1) / (count + _K1 * (1 - _B + _B * self._long[i] / self._mean))
        return score


def _phrase_score(rule: Rule, folded: str) -> float:
    """A phrase of the rule that stands in the text as a whole counts for more, the longer the more."""
    found = said(folded, rule.words.all)
    return _WEIGHT_PHRASE + len(found.split()) if found else 0.0


def _counted(rule: Rule, small: frozenset[str]) -> dict[str, float]:
    terms: dict[str, float] = defaultdict(float)
    for term in _terms(plain_words(rule.words.all), small):
        terms[term] += _WEIGHT_WORDS
    choices = [p for c in rule.answers for w in (c.when.said, c.when.also) if w for p in w.all]
    for term in _terms(plain_words(choices), small):
        terms[term] += _WEIGHT_CHOICES
    for term in _terms(words_of(f"{rule.says.en} {rule.says.es}"), small):
        terms[term] += _WEIGHT_TEXTS
    return dict(terms)
