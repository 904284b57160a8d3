"""Words by meaning from rules/words/<language>/<name>.yaml, all languages together: crews mix them in one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from sitebot.rulebook.folder import rules_folder
from sitebot.rulebook.yaml_text import read_yaml

LANGUAGES = ("en", "es")


@cache
def word_lists(name: str) -> Mapping[str, tuple[str, ...]]:
    """Meaning to words or phrases, as they stand in the files; DataError where a file is not there or no YAML."""
    found: dict[str, list[str]] = {}
    for language in LANGUAGES:
        for meaning, words in dict(read_yaml(rules_folder() / "words" / language / f"{name}.yaml")).items():
            found.setdefault(meaning, []).extend(words)
    return {meaning: tuple(words) for meaning, words in found.items()}
