# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Spelling: an unknown word becomes the known word it must be, by sound first and by one slip of the thumb second.

Only words that nobody knows are touched; names (of the site, given names, capitals inside a sentence) stay.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from functools import cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from sitebot.rulebook import rules_folder
from sitebot.rulebook.word_lists import LANGUAGES
from sitebot.rulebook.yaml_text import read_yaml
from sitebot.understand import lexicon
from sitebot.understand.facts.words import counted_words
from sitebot.understand.number_words import NUMBER_WORDS
from sitebot.understand.people import given_names, small_words
from sitebot.understand.quantities import LENGTHS

_SOUNDS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(a), b)
    for a, b in (
        (r"^h|(?<=[aeiou])h(?=[aeiou])|(?<![cst])h", ""), (r"v", "b"), (r"z|ç", "s"), (r"c(?=[ei])", "s"), (r"qu(?=[ei])", "k"), (r"q|c", "k"),
        (r"ll|y(?=[aeiou])", "i"), (r"g(?=[ei])", "j"), (r"gu(?=[ei])", "g"), (r"x", "s"), (r"n(?=[pb])", "m"), (r"(.)\1", r"\1"), (r"y$", "i"), (r"w", "u"),
    )
)  # fmt: skip


@cache
def sound(word: str) -> str:
    """How a word sounds in Spanish spelling: "enpalme" and "empalme", "rebisar" and "revisar" are one."""
    for expression, plain in _SOUNDS:
        word = expression.sub(plain, word)
    return word


#: How many of the most frequent words may stand behind consonants alone ("nrth wll": north wall).
BONES = 900


@cache
def bones(word: str) -> str:
    """The first letter and the consonants after it, doubles once."""
    return re.sub(r"(.)\1", r"\1", word[0] + re.sub("[aeiou]", "", word[1:]))


def is_bare(word: str) -> bool:
    """A word written without its vowels."""
    return len(word) >= 3 and not re.search("[aeiouy]", word[1:])


_ROWS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
_NEXT = {key: row[max(0, i - 1) : i] + row[i + 1 : i + 2] for row in _ROWS for i, key in enumerate(row)}
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
#: How much likelier each slip is than a lost letter, in steps of the logarithm of the rank of the word.
_SWAPPED, _DOUBLED, _BESIDE = 1.0, 1.5, 0.5
#: A word of three letters or four is mended only into one as frequent as this.
OFTEN = {3: 700, 4: 2500}


def meant_by(word: str) -> Iterator[tuple[str, float]]:
    """What a word may have been before one slip of the thumb: swapped, doubled, neighbouring or lost letters."""
    for i in range(len(word)):
        head, tail = word[:i], word[i + 1 :]
        if tail:
            yield head + tail[0] + word[i] + tail[1:], _SWAPPED
        if i and word[i] == word[i - 1]:
            yield head + tail, _DOUBLED
        if i:
            for key in _NEXT.get(word[i], ""):
                yield head + key + tail, _BESIDE
        for letter in _LETTERS:
            yield head + word[i] + letter + tail, 0.0


@cache
def ordinary() -> frozenset[str]:
    """Words of everyday speech near enough to the trade's to be taken for slips: "walk", "pressing", "nuestra"."""
    return frozenset(
        word
        for language in LANGUAGES
        for word in read_yaml(rules_folder() / "words" / language / "ordinary.yaml")["ordinary"].split()
    )


class Speller:
    """Repairs words against what is known: the lexicon, small words, and the words of the labelled messages."""

    def __init__(self, common: Sequence[str] = ()) -> None:
        trade = set(lexicon.known_words()) | set(LENGTHS) | set(NUMBER_WORDS)
        self.known = trade | small_words() | given_names() | set(common)
        #: Never changed, and never what a slip is mended into.
        self.spared = self.known | ordinary() | counted_words()
        self.trade = sorted(w for w in (trade | set(common)) - NUMBER_WORDS if len(w) >= 4)
        self._by_sound: dict[str, str] = {}
        for word in sorted(self.known, key=lambda w: (w not in trade, w)):
            if len(word) >= 4:
                self._by_sound.setdefault(sound(word), word)
        self._by_bones: dict[str, str] = {}
        for word in common[:BONES]:
            if len(word) >= 3 and word not in NUMBER_WORDS and bones(word) != word:
                self._by_bones.setdefault(bones(word), word)
        self._rank = {word: rank for rank, word in enumerate(common)}
        self._memory: dict[str, str] = {}

    def __call__(self, word: str) -> str:
        """The word, mended where it is unknown and one known word is near."""
        if len(word) < 3 or word in self.spared:
            return word
        if word not in self._memory:
            if len(self._memory) > 20_000:
                self._memory.clear()
            self._memory[word] = self._mend(word)
        return self._memory[word]

    def by_ear(self, word: str) -> bool:
        """A Spanish word written as it sounds ("kedo", "aser"): it is no word of its own, however often it is written."""
        meant = self._by_sound.get(sound(word), word) if len(word) >= 4 and word not in self.known else word
        return meant != word and ("k" in word or meant[0] == "h") and meant[-1] in "aeosn"

    def _slipped(self, word: str) -> str | None:
        """The most frequent known word one slip away."""
        last = OFTEN.get(len(word))
        best, found = -math.log(last) if last else -math.inf, None
        for meant, likely in meant_by(word):
            if meant not in self.known or len(meant) < 3 or meant in NUMBER_WORDS:
                continue
            score = likely - math.log(self._rank.get(meant, 2 * len(self._rank)) + 1)
            if score > best:
                best, found = score, meant
        return found

    def _mend(self, word: str) -> str:
        if is_bare(word) and bones(word) in self._by_bones:
            return self._by_bones[bones(word)]
        alike = self._by_sound.get(sound(word)) if len(word) >= 4 else None
        if alike and abs(len(alike) - len(word)) <= 2:
            return alike
        squeezed = re.sub(r"(.)\1{2,}", r"\1", word)
        if squeezed in self.known:
            return squeezed
        meant = self._slipped(word)
        if meant or len(word) < 5:
            return meant or word
        most = 1 if len(word) < 8 else 2
        hits = process.extract(word, self.trade, scorer=OSA.distance, score_cutoff=most, limit=4)
        near = [(distance, w) for w, distance, _ in hits if w[0] == word[0] or (distance == 1 and len(word) >= 7)]
        if not near:
            return word
        best = min(d for d, _ in near)
        names = [w for d, w in near if d == best]
        return names[0] if len(names) == 1 or len(word) >= 6 else word
