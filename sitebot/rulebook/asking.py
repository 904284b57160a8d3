"""How a question is put: is it all right, is it wrong, must it be, or is the rule itself asked for.

Read from rules/words/<language>/asking.yaml; both languages at once, since crews mix them. What the answer is, the
rules say; this only finds whether yes or no may stand before it without being misread.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from sitebot.rulebook.phrases import fold, said
from sitebot.rulebook.yaml_text import read_yaml

Word = Literal["yes", "no", ""]
#: An answer that begins so needs no yes or no before it.
_OPENINGS = {
    "en": ("no ", "no:", "no,", "not ", "dont", "never", "yes", "stop", "still yes", "ok ", "always"),
    "es": ("no ", "no:", "no,", "nunca", "si ", "si,", "tampoco", "pare ", "igual"),
}


@dataclass(frozen=True)
class Asking:
    """Phrases by what they show."""

    phrases: Mapping[str, tuple[str, ...]]

    @classmethod
    def load(cls, folder: Path) -> Asking:
        found: dict[str, tuple[str, ...]] = {}
        for path in sorted(folder.glob("words/*/asking.yaml")):
            for key, value in read_yaml(path).items():
                found[key] = found.get(key, ()) + (tuple(value) if isinstance(value, list) else tuple(value.split()))
        return cls(found)

    def shows(self, key: str, text: str) -> bool:
        """Whether the text is put that way: asks_ok, asks_rule, in_line ..."""
        return bool(said(fold(text), self.phrases.get(key, ())))

    @property
    def small_words(self) -> tuple[str, ...]:
        return self.phrases.get("small_words", ())

    def word(self, gives: str, text: str) -> Word:
        """Yes or no before an answer that finds the proposal right (yes) or wrong; empty where it could mislead."""
        if gives == "value" or self.shows("asks_denied", text):
            return ""
        wrong, right = self.shows("asks_bad", text), self.shows("asks_ok", text)
        if wrong:
            return "" if right else "no" if gives == "yes" else "yes"
        if right:
            return "yes" if gives == "yes" else "no"
        return "yes" if gives == "yes" and self.shows("asks_must", text) else ""


def opens_itself(text: str, language: str) -> bool:
    """Whether an answer already begins with yes, no or a word as plain."""
    return fold(text).lstrip().startswith(_OPENINGS[language])
