"""Homophones of dictated texts ("wall ate", "forty to has", "for tease"), from rules/words/en/dictation.yaml.

Works on the cleaned text before it is cut into words; only forms that leave no other sense are listed.
"""

from __future__ import annotations

import re
from functools import cache

import yaml

from sitebot.understand.lexicon import words_folder


@cache
def _heard() -> tuple[tuple[re.Pattern[str], str], ...]:
    text = (words_folder() / "en" / "dictation.yaml").read_text(encoding="utf-8")
    return tuple((re.compile(row["heard"], re.IGNORECASE), row["meant"]) for row in yaml.safe_load(text))


def as_meant(text: str) -> str:
    """The text with what the phone misheard put right."""
    for heard, meant in _heard():
        text = heard.sub(meant, text)
    return text
