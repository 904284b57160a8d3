# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""What the linear model sees of a text: masked words, pieces of words, meanings of the lexicon, and who speaks."""

from __future__ import annotations

import itertools

from sitebot.understand import lexicon
from sitebot.understand.cues import cues
from sitebot.understand.marks import Text

_SKIP = {"small_word", "given_name", "place_before", "compass", "place_noun"}


def meanings(text: Text) -> list[tuple[int, str]]:
    """Meanings in order of the text, as (token place, key)."""
    found = []
    for key in lexicon.all_keys():
        if key not in _SKIP:
            found += [(start, key) for start, _ in text.find(key)]
    return sorted(found)


def features(text: Text, role: str) -> list[str]:
    """Names of the features that are there; each counts once."""
    row = text.row()[0]
    words = row.split()
    found = {f"w {w}" for w in words}
    padded = ["^", *words, "$"]
    found |= {f"b {a} {b}" for a, b in itertools.pairwise(padded)}
    found |= {f"t {a} {b} {c}" for a, b, c in zip(padded, padded[1:], padded[2:], strict=False)}
    for word in words:
        if word[0].isalpha():
            framed = f" {word} "
            found |= {f"c {framed[i : i + n]}" for n in (3, 4, 5) for i in range(len(framed) - n + 1)}
    keyed = meanings(text)
    names = {key for _, key in keyed}
    found |= {f"k {key}" for key in names}
    order = [key for _, key in keyed]
    found |= {f"o {a}>{b}" for i, a in enumerate(order) for b in order[i + 1 : i + 3] if a != b}
    found |= {f"p {a}+{b}" for a in names for b in names if a < b and (a in _PAIRS or b in _PAIRS)}
    found |= {f"r {role}", *(f"rk {role} {key}" for key in names if key in _ROLED)}
    kinds = {m.kind for m in text.marks}
    found |= {f"m {kind}" for kind in kinds} | {f"mk {kind}+{key}" for kind in kinds for key in names if key in _PAIRS}
    found.add(f"l {min(len(words) // 3, 8)}")
    found.add("end ?" if row.rstrip().endswith("?") else "end .")
    found.add(f"n {min(len(text.of('n', 'range')), 4)}")
    found |= {f"q {cue}" for cue in cues(text, role)}
    return sorted(found)


_ROLED = {"accept", "reject", "inspector", "made", "fix", "pour", "self", "all_of", "splice_noun", "count_question"}
_PAIRS = {
    "made", "planned", "accept", "reject", "question_start", "ask_word", "negation", "fix", "void", "rework", "sample", "iron_noun",
    "pour", "cut", "damage", "inspector", "count_question", "hypothetical", "not_made", "remind", "start", "others_work", "intent",
}  # fmt: skip
