"""Reads the files of rules/: everything is read, then all faults are reported at once with file, key and remedy.

What a rule means is not asked here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from sitebot.errors import DataError
from sitebot.rulebook.model import Document, Rule
from sitebot.rulebook.yaml_text import read_yaml

#: Folders of rules/ that hold no rules.
_OTHER_FOLDERS = {"words"}
#: What a reply may hold on its way to a phone: plain letters, and the Spanish ones that the channel folds.
_WRITABLE = re.compile(r"[\x20-\x7eáéíóúüñÁÉÍÓÚÜÑ¿¡]*")
_REMEDIES = {
    "extra_forbidden": "No such key: take it out or mend its spelling.",
    "missing": "Add this key.",
    "too_short": "Give at least one.",
}


def read_rules(folder: Path) -> tuple[dict[str, Rule], list[str]]:
    """The rules of a folder by id, and every fault found on the way."""
    documents, faults = read_sources(folder / "sources.yaml")
    rules: dict[str, Rule] = {}
    for path in sorted(folder.glob("*/*.yaml")):
        if path.parent.name in _OTHER_FOLDERS:
            continue
        rule, found = _rule_of(path, folder)
        if rule:
            found += _doubts(rule, path, documents)
            rules[rule.id] = rule
        faults += found
    if not rules and not faults:
        faults.append(f"{folder}: holds no rules. Name a folder with <topic>/<rule>.yaml in it.")
    return rules, faults


def read_sources(path: Path) -> tuple[dict[str, Document], list[str]]:
    """The documents that may be cited, by name."""
    documents: dict[str, Document] = {}
    faults: list[str] = []
    try:
        raw = read_yaml(path)
    except DataError as error:
        return {}, [str(error)]
    for i, item in enumerate(raw if isinstance(raw, list) else []):
        try:
            document = Document.model_validate(item)
            documents[document.name] = document
        except ValidationError as error:
            faults += [fault_of(f"{path}: [{i}]", dict(e)) for e in error.errors()]
    return documents, faults


def _rule_of(path: Path, folder: Path) -> tuple[Rule | None, list[str]]:
    try:
        raw = read_yaml(path)
    except DataError as error:
        return None, [str(error)]
    if not isinstance(raw, Mapping):
        return None, [f"{path}: is no map of keys. Begin it with id: {_id_of(path, folder)}."]
    try:
        return Rule.model_validate(raw), []
    except ValidationError as error:
        return None, [fault_of(str(path), dict(e)) for e in error.errors()]


def _id_of(path: Path, folder: Path) -> str:
    return ".".join(path.relative_to(folder).with_suffix("").parts)


def fault_of(where: str, error: Mapping[str, Any]) -> str:
    """One fault of a model as a line: file, path of the key, what is wrong, what to do."""
    key = "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in error["loc"]).lstrip(".")
    message = str(error["msg"]).removeprefix("Value error, ")
    return f"{where}: {key or 'the rule'}: {message}. {_REMEDIES.get(error['type'], 'Mend the value.')}"


def _doubts(rule: Rule, path: Path, documents: Mapping[str, Document]) -> list[str]:
    """What a model cannot see: the id against the path, the documents, the letters."""
    faults = []
    if rule.id != _id_of(path, rule_folder(path)):
        faults.append(f"{path}: id: {rule.id!r} is not the path of the file. Write {_id_of(path, rule_folder(path))}.")
    for i, cite in enumerate(rule.cites):
        if not any(cite == name or cite.startswith(f"{name},") for name in documents):
            faults.append(f"{path}: sources[{i}].cite: no document of sources.yaml is named so. Enter it there first.")
    texts = [rule.says, rule.caution, *(a.says for a in rule.answers)]
    for text in (t for pair in texts for t in (pair.en, pair.es)):
        if not _WRITABLE.fullmatch(text):
            faults.append(f"{path}: {text[:40]!r}: a character no phone text holds. Write plain letters and deg.")
    return faults


def rule_folder(path: Path) -> Path:
    """The rules folder above a rule file."""
    return path.parent.parent
