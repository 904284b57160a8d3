"""Who did it: "me n teo", "Klaas on three", "con Lupe y Beny", "Chuy y yo".

Names are told from words by the gazetteer, by the list of given names, and by where they stand; "me" is the sender.
"""

from __future__ import annotations

import re
from functools import cache

from sitebot.understand import lexicon
from sitebot.understand.context import Gazetteer
from sitebot.understand.facts import words
from sitebot.understand.facts.measured import instruments
from sitebot.understand.marks import Text
from sitebot.understand.spelling import fold

_ME = {"me", "yo", "i", "myself", "mi"}
_AND = {"and", "y", "&", "+", "/", "e", "plus", ","}
_WITH = {"with", "con", "w", "c", "along"}
_TITLES = {
    "don",
    "dona",
    "mr",
    "senor",
    "el",
    "al",
    "mi",
    "primo",
    "la",
    "new",
    "fella",
    "the",
    "compa",
    "maestro",
    "esposo",
    "esposa",
    "hermano",
    "hermana",
    "cunado",
    "hijo",
    "tio",
    "compadre",
    "companero",
    "ing",
    "brother",
    "cousin",
}
_NEVER = {
    "grid",
    "iron",
    "inspector",
    "qc",
    "lead",
    "super",
    "crew",
    "line",
    "boss",
    "foreman",
    "sunday",
    "monday",
    "lunch",
}


@cache
def given_names() -> frozenset[str]:
    """Given names of the lexicon."""
    return frozenset(_flat("given_name"))


@cache
def small_words() -> frozenset[str]:
    """Words too common to be a name."""
    return frozenset(_flat("small_word")) | lexicon.known_words() - given_names() | instruments()


def _flat(key: str) -> set[str]:
    return {w for p in lexicon.phrases().get(key, ()) for w in re.findall(r"[a-z]+", fold(p))}


#: "y yo 3", "la pegué yo": the sender's own share beside the others'.
_MINE = re.compile(r" (y yo|(lo|la|los|las) \S+[ei] yo|yo (hice|solde|pegue|la|el|los|las|<n>)) ")


#: "Ruben ran the iron and I held": the sender is one of the two.
_AND_I = re.compile(r" (and|y) (i|yo) (?!was|am|will|have|think|guess|estaba|creo)")


def _owner(word: str) -> str:
    """ "ludos" for "Ludo's"."""
    return word.removesuffix("s").removesuffix("'") if len(word) > 3 and word.endswith("s") else ""


class People:
    """The names of one text."""

    def __init__(self, text: Text, gazetteer: Gazetteer, crew: bool = False) -> None:
        self.text = text
        #: The sender works himself: "with Rick" is he and Rick.
        self.crew = crew
        self.known = {w for name in gazetteer.people for w in fold(name).split()}
        self.full = {fold(name).split()[0]: name for name in gazetteer.people}

    def is_name(self, at: int, linked: bool = False) -> bool:
        """Whether the token at a place is a name; beside "and" or "with" any unknown word is."""
        if not (0 <= at < len(self.text.tokens)) or not self.text.free(at):
            return False
        token = self.text.tokens[at]
        if token.form != "word" or len(token.word) < 2 or token.word in _NEVER:
            return False
        if token.word in self.known or fold(token.raw) in self.known or _owner(fold(token.raw)) in self.full:
            return True
        if token.word in given_names() and token.word not in {
            "will",
            "mark",
            "sue",
            "dot",
            "bill",
            "don",
            "al",
            "mo",
            "gene",
            "rex",
            "pat",
            "lee",
            "grace",
            "hope",
            "sal",
            "van",
            "tin",
            "sur",
        }:
            return True
        if token.word in given_names() and (token.raw[0].isupper() or linked):
            return True
        if token.word in small_words():
            return False
        first = (at == 0 or self.text.word(at - 1) in {".", "!", "?", "\n"}) and not self._did_it(at + 1)
        capital = token.raw[0].isupper() and not token.raw.isupper()
        return (capital and not first) or (linked and not token.word.endswith(("ing", "ed")))

    def _did_it(self, at: int) -> bool:
        """ "Ramona soldo": the word behind a name says what he did."""
        return words.is_only("did_he", f" {self.text.word(at)} ")

    def shown(self, at: int) -> str:
        """The name as it is to be kept."""
        token = self.text.tokens[at]
        if token.word in _ME:
            return "me"
        known = self.full.get(token.word) or self.full.get(_owner(fold(token.raw)))
        return known or (token.raw if token.raw[0].isupper() else token.raw.capitalize())

    def groups(self) -> list[list[str]]:
        """Names that stand together, in order of the text."""
        found: list[list[str]] = []
        at, text = 0, self.text
        while at < len(text.tokens):
            group, at = self._group(at)
            if group:
                found.append(group)
        return found

    def _person(self, at: int, linked: bool) -> int:
        """First token after a person who starts here, or 0."""
        word = self.text.word(at)
        if word in _ME and self.text.free(at) and self.text.word(at - 1) not in {"excuse", "forgive", "pardon"}:
            return at + 1
        if word == "yours" and self.text.word(at + 1) == "truly":
            return at + 2
        if word == "mi" and self.text.word(at + 1) == "persona":
            return at + 2
        skip = at
        while linked and self.text.word(skip) in _TITLES and skip - at < 2:
            skip += 1
        if self.is_name(skip, linked):
            return skip + 1
        return at + 1 if self.is_name(at, linked) else 0

    def _group(self, at: int) -> tuple[list[str], int]:
        lead = at - 1
        while lead and self.text.word(lead) in _TITLES and self.text.word(lead - 1) in _WITH | _TITLES:
            lead -= 1
        before = self.text.word(lead)
        linked = before in _WITH or (self.text.word(at + 1) in _AND - {","} and self._person_after(at + 2))
        end = self._person(at, bool(linked))
        if not end:
            return [], at + 1
        names = [self._name(at, end)]
        while True:
            joint = self._joint(end)
            if not joint and names == ["me"] and self.is_name(end) and self._joint(end + 1):
                names.append(self._name(end, end + 1))
                end += 1
                continue
            nxt = self._person(end + joint, joint > 0 and self.text.word(end + joint - 1) != ",") if joint else 0
            if not nxt:
                break
            names.append(self._name(end + joint, nxt))
            end = nxt
        alone = len(names) == 1
        if alone and names == ["me"]:
            return [], at + 1
        with_him = before in _WITH or (before == "/" and self.text.word(lead - 1) == "with")
        if with_him and "me" not in names and self.crew:
            names = ["me", *names]
        return names, end

    def _person_after(self, at: int) -> bool:
        word = self.text.word(at)
        return (
            word in _ME
            or word in given_names()
            or word in self.known
            or (0 <= at < len(self.text.tokens) and self.is_name(at))
        )

    def _joint(self, at: int) -> int:
        words = [self.text.word(at + i) for i in range(2)]
        if words[0] == "," and words[1] in _AND - {","}:
            return 2
        return 1 if words[0] in _AND | _WITH else 0

    def _name(self, start: int, end: int) -> str:
        word = self.text.word(start)
        if word in _ME or word in {"yours"} or self.text.word(end - 1) == "persona":
            return "me"
        last = end - 1
        return self.shown(last)


def welders(text: Text, gazetteer: Gazetteer, crew: bool = False) -> list[str]:
    """Who welded, as far as the text says; empty when it does not."""
    groups = People(text, gazetteer, crew).groups()
    names = [n for group in groups for n in group]
    row, _ = text.row()
    if (words.says("did_i", row) or re.search(r" (a mi nombre|put me down for) ", row)) and not names:
        return ["me"]
    mine = bool(_MINE.search(row)) or words.says("with_me", row)
    if words.says("only_i", row):
        return ["me"]
    if names and "me" not in names and mine and not re.search(r" (no|ni) (\S+ ){0,2}yo ", row):
        names.append("me")
    if crew and names and "me" not in names and _AND_I.search(row):
        names.append("me")
    seen: list[str] = []
    for name in names:
        if fold(name) not in {fold(s) for s in seen}:
            seen.append(name)
    return seen
