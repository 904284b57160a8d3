"""Short plain texts that are read whole, before anything is weighed: "brief off", "add Nadia Ruiz, crew, 303 555 0177".

The sentences are data (rules/words/<language>/orders.yaml). A text that says one word more than a sentence allows is
none of them, and is read as any other text.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from sitebot.acts import Act
from sitebot.errors import DataError
from sitebot.rulebook import rules_folder
from sitebot.rulebook.word_lists import LANGUAGES, word_lists
from sitebot.rulebook.yaml_text import read_yaml

#: What may stand where a sentence leaves a gap.
SLOTS: Mapping[str, str] = {
    "number": r"#? ?\d{1,6}",
    "numbers": r"#? ?\d{1,6}(?: ?(?:,|and|y|e|&) ?#? ?\d{1,6})*",
    "count": r"\d{1,3}",
    "phone": r"\+?\(?\d[\d ().-]{6,18}\d",
    "matrix": r"@[\w.=-]+:[\w.-]+",
    "name": r"[^\W\d_]+(?: [^\W\d_]+){0,2}?",
    "place": r"\w[\w ]{0,38}?",
    "kinds": "",  # of the words of the kinds, below
    "clock": r"\d{1,2}(?::\d\d)? ?(?:am|pm)?",
}
#: A text this long is no order.
LONGEST = 120


@dataclass(frozen=True, slots=True)
class Order:
    """One sentence and what it means; ``{gap}`` in the facts is filled with what stood there."""

    sentence: re.Pattern[str]
    act: str
    facts: str
    #: What a name in it may not be: "everybody is off" speaks of no person.
    no_names: frozenset[str]


def ordered(text: str) -> Act | None:
    """The act of a text that is one of the sentences; None for any other."""
    if len(text) > LONGEST:
        return None
    shown = _tidy(text)
    plain = _plain(shown)
    for order in _orders():
        if (found := order.sentence.fullmatch(plain)) and not _is_barred(found, order):
            gaps = {k: shown[found.start(k) : found.end(k)].strip() for k, v in found.groupdict().items() if v}
            return Act(order.act, _filled(json.loads(order.facts), gaps))
    return None


def coming_back(act: Act, text: str) -> Act:
    """A reminder wished for "every day" or "on Fridays" comes back."""
    if act.name != "plan_day" or act.facts.get("remind") is not True or not act.facts.get("at"):
        return act
    plain = _plain(_tidy(text))
    every = next((key for key, said in _every() if said.search(plain)), None)
    return replace(act, facts={**act.facts, "every": every}) if every else act


def _is_barred(found: re.Match[str], order: Order) -> bool:
    return bool(order.no_names & set(str(found.groupdict().get("name") or "").split()))


def _tidy(text: str) -> str:
    """One line without marks that mean nothing here; letters stay as they were written."""
    joined = re.sub(r"(?i)(?<=what|that)['’](?=s\b)|(?<=n)['’](?=t\b)", "", unicodedata.normalize("NFC", text))
    kept = re.sub(r"[!?¿¡\"“”;]|[.,:](?=\s|$)|(?<=\s),|['’]", " ", joined)
    return f"{' '.join(kept.split())} "


def _plain(text: str) -> str:
    """Lower case without accents, a letter for a letter, so that places in both are the same."""
    return "".join((unicodedata.normalize("NFKD", c)[:1] or c).lower()[:1] or c for c in text)


def _filled(value: Any, gaps: Mapping[str, str]) -> Any:
    """The facts with their gaps filled; what was left out of the text is left out of the facts."""
    if isinstance(value, dict):
        filled = {k: _filled(v, gaps) for k, v in value.items()}
        return {k: v for k, v in filled.items() if v is not None}
    if isinstance(value, list):
        return [v for item in value if (v := _filled(item, gaps)) is not None]
    if isinstance(value, str) and (gap := re.fullmatch(r"\{(\w+)\}", value)):
        return _value(gap[1], gaps.get(gap[1]))
    return value


def _value(slot: str, said: str | None) -> Any:
    if said is None:
        return None
    if slot in ("number", "count"):
        return int(re.sub(r"\D", "", said))
    if slot == "numbers":
        return [int(n) for n in re.findall(r"\d+", said)]
    if slot == "kinds":
        return {_kinds()[word]: int(n) for n, word in _counted().findall(_plain(said))}
    return _role(said) if slot == "role" else said


def _role(said: str) -> str:
    return _roles().get(_plain(said), said)


# --- the sentences --------------------------------------------------------------------------------------------------


@cache
def _files() -> dict[str, Mapping[str, Any]]:
    return {name: read_yaml(rules_folder() / "words" / name / "orders.yaml") for name in LANGUAGES}


@cache
def _roles() -> dict[str, str]:
    return {word: role for data in _files().values() for role, words in data["roles"].items() for word in words}


@cache
def _kinds() -> dict[str, str]:
    """Words of the kinds of joints, each with its kind."""
    lists = word_lists("followups")
    return {w: key.removeprefix("kind.") for key, words in lists.items() if key.startswith("kind.") for w in words}


@cache
def _counted() -> re.Pattern[str]:
    """A number and a kind: "8 butts"."""
    words = "|".join(sorted(map(re.escape, _kinds()), key=len, reverse=True))
    return re.compile(rf"\b(\d{{1,3}}) (?:a |de )?({words})\b")


@cache
def _every() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple(
        (key, re.compile(rf"\b(?:{'|'.join(map(re.escape, words))})\b"))
        for data in _files().values()
        for key, words in data["every"].items()
    )


@cache
def _orders() -> tuple[Order, ...]:
    return tuple(order for name, data in _files().items() for order in _of(name, data))


def _of(language: str, data: Mapping[str, Any]) -> Iterator[Order]:
    where = f"words/{language}/orders.yaml"
    polite = f"(?:(?:{'|'.join(_words(p) for p in data['polite'])}))*"
    for row in data["orders"]:
        try:
            json.loads(row["facts"])
        except json.JSONDecodeError as error:
            raise DataError(f"{where}: facts of {row['act']}: {error}. Write them as JSON.") from error
        for sentence in row["says"]:
            yield Order(
                re.compile(f"{polite}{_sentence(sentence)}{polite}"),
                row["act"],
                row["facts"],
                frozenset(data["no_names"]),
            )


def _sentence(said: str) -> str:
    """``(a|b)`` one of them, ``[a|b]`` one or none, ``{gap}`` what fills it, ``word*`` any ending."""
    parts = re.findall(r"\([^)]*\)|\[[^\]]*\]|\S+", said)
    return "".join(_part(part) for part in parts)


def _part(part: str) -> str:
    if part[0] in "([":
        inner = "|".join(_sentence(option.strip()) for option in part[1:-1].split("|"))
        return f"(?:{inner})" + ("?" if part[0] == "[" else "")
    if gap := re.fullmatch(r"\{(\w+)\}", part):
        return f"(?P<{gap[1]}>{_slot(gap[1])}) "
    return _words(part)


def _slot(name: str) -> str:
    if name == "kinds":
        one = re.sub(r"\((?!\?)", "(?:", _counted().pattern)
        return f"{one}(?: ?(?:,|and|y|e|&)? {one})*"
    return "|".join(sorted(map(re.escape, _roles()), key=len, reverse=True)) if name == "role" else SLOTS[name]


def _words(said: str) -> str:
    return "".join(re.escape(word).replace(r"\*", r"\w*") + " " for word in said.split())
