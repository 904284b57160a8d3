"""Homophones of dictated texts ("wall ate", "forty to has", "for tease"), from rules/words/en/dictation.yaml.

Works on the cleaned text before it is cut into words; only forms that leave no other sense are listed.
"""

from __future__ import annotations

import re
from functools import cache

from sitebot.rulebook import rules_folder
from sitebot.rulebook.yaml_text import read_yaml


@cache
def _heard() -> tuple[tuple[re.Pattern[str], str], ...]:
    rows = read_yaml(rules_folder() / "words" / "en" / "dictation.yaml")
    return tuple((re.compile(row["heard"], re.IGNORECASE), row["meant"]) for row in rows)


def as_meant(text: str) -> str:
    """The text with what the phone misheard put right."""
    for heard, meant in _heard():
        text = heard.sub(meant, text)
    return text
