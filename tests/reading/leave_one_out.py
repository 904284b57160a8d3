# ruff: noqa: E501 - a table of phrases is easier to keep whole
"""Measure the reader on each hand with a model trained on the others: ``python -m tests.reading.leave_one_out [--show N] [--act A]``.

The road is that of ``sitebot read``, replies included, and the scorer's own ``judge`` compares. With ``--alone`` the reader is
measured without replies: outcome and verdict are then derived from its acts by the conventions of tests/messages/README.md.
"""

from __future__ import annotations

import argparse
import collections
import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "scorers"))
import score_reading

from sitebot import readout
from sitebot.rulebook import Rulebook, rules_folder
from sitebot.understand.context import Context
from sitebot.understand.model import Linear
from sitebot.understand.reader import read_with
from tests.reading.outcomes import said
from tests.reading.slips import slipped
from tests.reading.train import AUTHORS, NOW, labelled, train


def judged(model: Linear, row: dict, rules: Rulebook | None) -> tuple[str, str, dict]:
    """Class, reason and answer line of one message."""
    if rules is None:
        reading = read_with(model, row["text"], Context(now=NOW, role=row["who"]))
        answer = said(reading, row["who"]) | {"trace": dict(reading.trace)}
        return *score_reading.judge({**row, "reply_has": [], "reply_never": []}, answer), answer
    readings: list = []
    readout.read = lambda text, context: readings.append(read_with(model, text, context)) or readings[-1]
    answer = readout.read_one(row["text"], row["who"], rules, NOW) | {"trace": dict(readings[-1].trace)}
    return *score_reading.judge(row, answer), answer


def measure(rules: Rulebook | None) -> dict[str, dict[str, float]]:
    """Shares of each class in percent: by hand, and over all of them as "all"."""
    files = {a: labelled(a) for a in AUTHORS}
    counts: dict[str, collections.Counter] = {}
    for author in AUTHORS:
        model = train([row for a in AUTHORS if a != author for row in files[a]])
        counts[author] = collections.Counter(judged(model, row, rules)[0] for row in files[author])
    counts["all"] = sum(counts.values(), collections.Counter())
    return {name: {kind: 100 * n / c.total() for kind, n in c.items()} for name, c in counts.items()}


def main() -> int:
    """Print the shares, by hand, act and language, and the misread."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--show", type=int, default=0)
    parser.add_argument("--act", default="")
    parser.add_argument("--authors", default=AUTHORS)
    parser.add_argument("--kind", default="")
    parser.add_argument("--slips", action="store_true", help="with a slip of the thumb in every third word")
    parser.add_argument("--alone", action="store_true")
    parser.add_argument("--keep", default="", help="file for every judged line, as JSON")
    parser.add_argument("--floors", default="", help="file for the shares by hand")
    options = parser.parse_args()
    order = ["right", "partial", "asked", "wrong", "HARM"]
    tables: dict[str, collections.Counter] = collections.defaultdict(collections.Counter)
    bad = []
    rules = None if options.alone else Rulebook.load(rules_folder())
    files = {a: labelled(a) for a in AUTHORS}
    every = []
    for author in options.authors:
        model = train([row for a in AUTHORS if a != author for row in files[a]])
        for number, row in enumerate(files[author]):
            if options.slips:
                row = {**row, "text": slipped(row["text"], number)}
            kind, why, answer = judged(model, row, rules)
            for name in ("all", f"hand {author}", f"lang {row['lang']}", row["act"]):
                tables[name][kind] += 1
            every.append(
                {
                    "id": row["id"],
                    "kind": kind,
                    "why": why,
                    "act": row["act"],
                    "who": row["who"],
                    "text": row["text"],
                    "answer": answer,
                }
            )
            if kind != "right":
                bad.append((order[::-1].index(kind), kind, row, why, answer))
    if options.keep:
        Path(options.keep).write_text(json.dumps(every, ensure_ascii=False, default=str))
    for name in sorted(tables, key=lambda n: (n == "all", n.startswith("hand"), n.startswith("lang"), n)):
        counts = tables[name]
        total = sum(counts.values())
        print(f"{name:<20}{total:>5}  " + "  ".join(f"{k} {100 * counts[k] / total:5.1f}%" for k in order))
    shown = [
        b
        for b in sorted(bad, key=lambda b: b[0])
        if (not options.act or options.act in b[2]["act"]) and (not options.kind or b[1] in options.kind)
    ]
    if options.floors:
        kept = {n.removeprefix("hand "): c for n, c in tables.items() if n == "all" or n.startswith("hand ")}
        shares = {n: {k: round(100 * c[k] / c.total(), 2) for k in ("right", "HARM", "asked")} for n, c in kept.items()}
        Path(options.floors).write_text(json.dumps(shares, indent=1) + "\n")
    for _, kind, row, why, answer in shown[: options.show]:
        got = (
            json.dumps(answer["acts"], ensure_ascii=False, default=str)[:230]
            if answer["acts"]
            else answer.get("unclear")
        )
        print(f"{kind:<7}{row['id']} {row['who'][:4]} [{row['act']}] {row['text'][:170]!r}\n     {why} | {got}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
