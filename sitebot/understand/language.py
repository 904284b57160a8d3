"""The language of a text, where nobody's roster entry says it: by the small words of each language."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from sitebot.message import Language
from sitebot.rulebook import rules_folder
from sitebot.rulebook.yaml_text import read_yaml


@cache
def _small_words(language: str) -> frozenset[str]:
    words = read_yaml(rules_folder() / "words" / language / "asking.yaml")["small_words"]
    return frozenset(str(words).split())


def language_of(text: str) -> Language:
    """ "es" where more words are Spanish than English, else "en"."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", text.lower()) if not unicodedata.combining(c))
    words = re.findall(r"[a-z]+", plain[:2000])
    spanish, english = _small_words("es"), _small_words("en")
    score = sum((w in spanish) - (w in english) for w in words)
    return "es" if score > 0 or (score == 0 and re.search("[¿¡ñáéíóú]", text.lower())) else "en"
