"""Finds the rule a text asks for: an inverted index with BM25 over the rules' words and texts, spelling mended first.

It ranks what is there or says that nothing fits; it makes nothing up. Which rule answers is decided by the caller.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from sitebot.rulebook.model import Rule
from sitebot.rulebook.phrases import fold, plain_words, said, words_of

_K1, _B = 1.4, 0.6
#: What a word weighs by where it stands: in the words people use for the rule, or only in its texts.
_WEIGHT_WORDS, _WEIGHT_TEXTS, _WEIGHT_PHRASE = 3, 1, 4.0
#: Below this nothing fits. Held by tests/rulebook/test_search.py: talk of other things stays under it.
LEAST_SCORE = 5.0


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
        self._vocabulary = [t for t in self._having if len(t) >= 5]

    def search(self, text: str) -> list[Hit]:
        """Rules that fit the text, best first; empty where none does."""
        folded = fold(text)
        terms = set(self._mended(_terms(words_of(text), self._small)))
        hits = [Hit(rule, self._score(i, terms) + _phrase_score(rule, folded)) for i, rule in enumerate(self._rules)]
        return sorted((h for h in hits if h.score >= LEAST_SCORE), key=lambda h: (-h.score, h.rule.id))

    def _mended(self, terms: list[str]) -> Iterable[str]:
        for term in terms:
            if term in self._having:
                yield term
            elif len(term) >= 5 and (
                near := process.extractOne(term, self._vocabulary, scorer=fuzz.ratio, score_cutoff=84)
            ):
                yield near[0]

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


def _counted(rule: Rule, small: frozenset[str]) -> Counter[str]:
    terms: Counter[str] = Counter()
    for term in _terms(plain_words(rule.words.all), small):
        terms[term] += _WEIGHT_WORDS
    choices = [p for c in rule.answers for w in (c.when.said, c.when.also) if w for p in w.all]
    texts = words_of(f"{rule.says.en} {rule.says.es}")
    for term in _terms([*plain_words(choices), *texts], small):
        terms[term] += _WEIGHT_TEXTS
    return terms
