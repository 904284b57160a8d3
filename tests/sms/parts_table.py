"""Every text that goes out over a scripted day, with its parts: ``python -m tests.sms.parts_table [--air] [DAY ...]``.

Over the memory channel, measured as it would be sent; with --air over the pseudo terminal's modem and a real
gammu-smsd, measured as it was heard, the greetings included. Without a day named, all of tests/days (--air: 01, 04).
"""

import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from sitebot.play import play
from sitebot.stage import Stage
from sitebot.wording.parts import encoding, fold, parts, units
from tests.sms.air import AirStage
from tests.sms.conftest import modem_at

DAYS = Path(__file__).parents[1] / "days"
#: Laying out a database is not safe in two threads.
ONE_AT_A_TIME = Lock()
ON_AIR = ("01-good-day", "04-cuadrilla-en-espanol")


@dataclass
class Day:
    """What a day left: the record after each line, and what people heard as (name, text)."""

    records: list
    heard: list


def as_sms(site, start):
    """A stage whose memory channel goes by the name of the other: a phone gets no file."""
    stage = Stage(site, start)
    stage.channel.name = "sms"
    return stage


def in_memory(name, made=as_sms):
    rows = list(play(DAYS / f"{name}.jsonl", made))
    return Day([r["record"] for r in rows], [(m["to"], fold(m["text"])) for r in rows for m in r["messages"]])


def on_air(name, modem):
    stages = []

    def made(site, start):
        with ONE_AT_A_TIME:
            stages.append(AirStage(site, start, modem))
        return stages[0]

    try:
        records = [r["record"] for r in play(DAYS / f"{name}.jsonl", made)]
        return Day(records, [(stages[0].name_of(number), text) for number, text in stages[0].heard()])
    finally:
        for stage in stages:
            stage.close()


def by_parts(texts):
    """How many texts take so many parts."""
    return Counter(len(parts(text)) for _, text in texts)


def main(arguments):
    air = "--air" in arguments
    names = [a for a in arguments if not a.startswith("-")] or (
        ON_AIR if air else sorted(p.stem for p in DAYS.glob("*.jsonl"))
    )
    total = Counter()
    print("parts units alphabet to | text")
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            day = next(on_air(name, m) for m in modem_at(Path(folder), commtimeout=5)) if air else in_memory(name)
        for to, text in day.heard:
            print(f"{len(parts(text)):5} {units(text):5} {encoding(text):8} {to} | {text}")
        counts = by_parts(day.heard)
        total += counts
        print(f"== {name}: {dict(sorted(counts.items()))}\n")
    whole = sum(total.values())
    print(f"{whole} texts, {total[1]} in one part ({100 * total[1] / whole:.1f} %), the longest {max(total)} parts")


if __name__ == "__main__":
    main(sys.argv[1:])
