"""Train the model of the acts from the labelled messages: ``python -m tests.reading.train``.

The sealed files h.jsonl and p.jsonl are never read here.
"""

from __future__ import annotations

import collections
import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from sklearn.feature_extraction import DictVectorizer
from sklearn.svm import LinearSVC

from sitebot.understand.context import Context
from sitebot.understand.features import features
from sitebot.understand.model import GROUPS, PACKED, Linear, pack
from sitebot.understand.reading_marks import read_marks
from sitebot.understand.repair import Speller, is_bare
from sitebot.understand.spelling import clean, contract
from sitebot.understand.tokens import tokens_of
from tests.reading.slips import slipped

MESSAGES = Path(__file__).resolve().parent.parent / "messages"
AUTHORS = "abdefijklmnoqrstu"
#: Each line is learned again with slips of the thumb, and counts so much then; no seed is one of the measurement.
SLIPPED, COPIES = 0.5, 100_000
NOW = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)


def labelled(author: str) -> list[dict]:
    """The labelled messages of one hand."""
    assert author not in "hp", "sealed"
    lines = (MESSAGES / f"{author}.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines if line.strip()]


def examples() -> list[dict]:
    """Further invented lines, for training only: act, role and text."""
    rows = []
    for path in sorted((Path(__file__).parent / "examples").glob("*.txt")):
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.strip() and not line.startswith("#"):
                act, who, text = line.split("|", 2)
                rows.append({"act": act, "who": who, "text": text})
    return rows


def seen(row: dict, speller: Speller | None = None) -> list[str]:
    """Features of a labelled message."""
    context = Context(now=NOW, role=row["who"])
    marks = (
        read_marks(row["text"], context.gazetteer, speller) if speller else read_marks(row["text"], context.gazetteer)
    )
    return features(marks, row["who"])


def common_words(rows: list[dict]) -> tuple[str, ...]:
    """Whole words that stand in more than one message and are no names of welders, the most frequent first."""
    listed = Speller()
    names = {n.lower() for row in rows for n in _names(row.get("facts", {}))}
    counts = collections.Counter(
        w for row in rows for w in {t.word for t in tokens_of(contract(clean(row["text"]))) if t.form == "word"}
    )
    return tuple(
        w
        for w, n in sorted(counts.items(), key=lambda c: (-c[1], c[0]))
        if n > 1 and w not in names and not is_bare(w) and not listed.by_ear(w)
    )


def _names(facts: dict) -> list[str]:
    found = facts.get("welders") or facts.get("who") or []
    return [str(n) for n in (found if isinstance(found, list) else [found])]


def train(rows: list[dict], least: int = 2, strength: float = 0.1) -> Linear:
    """A linear model over the messages; features that occur once are left out."""
    rows = [*rows, *examples()]
    words = common_words(rows)
    speller = Speller(words)
    table = DictVectorizer(sort=True)
    copies = [{**row, "text": slipped(row["text"], COPIES + i)} for i, row in enumerate(rows)]
    found = [{f: GROUPS[f.split(" ", 1)[0]] for f in seen(row, speller)} for row in [*rows, *copies]]
    counted = np.repeat([1.0, SLIPPED], len(rows))
    matrix = table.fit_transform(found).astype(np.float64)
    often = np.asarray((matrix > 0).sum(axis=0)).ravel() >= least
    matrix = matrix[:, often]
    matrix.indices, matrix.indptr = matrix.indices.astype("i4"), matrix.indptr.astype("i4")
    fitted = LinearSVC(C=strength, random_state=7).fit(
        matrix, [row["act"] for row in [*rows, *copies]], sample_weight=counted
    )
    scale = float(np.abs(fitted.coef_).max()) / 127
    weights = np.rint(fitted.coef_ / scale).astype(np.int8).T
    names = [n for n, keep in zip(table.feature_names_, often, strict=True) if keep]
    keep = [i for i in range(len(names)) if weights[i].any()]
    return Linear(
        tuple(str(c) for c in fitted.classes_),
        {names[i]: at for at, i in enumerate(keep)},
        np.ascontiguousarray(weights[keep]).tobytes(),
        scale,
        tuple(round(float(b), 4) for b in fitted.intercept_),
        words,
    )


def main() -> None:
    """Train on all open files and pack the weights."""
    model = train([row for author in AUTHORS for row in labelled(author)])
    pack(model)
    print(f"{len(model.index)} features, {len(model.acts)} acts, {PACKED.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
