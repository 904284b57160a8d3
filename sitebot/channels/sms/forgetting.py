"""A number taken out of what the channel keeps, on request. Pure: rows in, changed rows out; "" is an empty row.

A STOP outlives it: the number is then known by its hash alone, so that it is still left in peace.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from sitebot.channels.sms import joining
from sitebot.channels.sms.courtesy import PREFIX, Standing, digest
from sitebot.channels.sms.hearing import HALVES
from sitebot.channels.sms.kept import OWN, STRANGERS, own_texts, own_texts_as, remembered
from sitebot.channels.sms.ledger import PREFIX as SENT

#: Where an erasure leaves the hashes of numbers for a channel that runs: its memory has them still.
ASKED = "forget"


def forgotten(rows: Mapping[str, str], number: str) -> dict[str, str]:
    """The rows that change when a number, or the number of a hash, is forgotten."""
    gone = number if number.startswith("#") else digest(number)
    changed = {
        key: ""
        for key, row in rows.items()
        if row and (_is(key, PREFIX, key.removeprefix(PREFIX), gone) or _is(key, SENT, _to(key, row), gone))
    }
    changed[OWN] = own_texts_as([own for own in own_texts(rows) if digest(own.to) != gone])
    changed[STRANGERS] = json.dumps([n for n in remembered(rows, STRANGERS) if digest(n) != gone])
    groups = joining.of_json(rows.get(HALVES, ""))
    changed[HALVES] = joining.to_json([g for g in groups if digest(g.sender) != gone])
    for key in [k for k in changed if k.startswith(PREFIX)]:
        standing = Standing.of(rows, key.removeprefix(PREFIX))
        if standing.stopped:
            changed[PREFIX + gone] = Standing(stopped=standing.stopped, stopped_by=standing.stopped_by).to_json()
    return {key: row for key, row in changed.items() if rows.get(key, _EMPTY.get(key, "")) != row}


#: What lists that were never kept look like.
_EMPTY = {OWN: "[]", STRANGERS: "[]", HALVES: "[]"}


def asked(rows: Mapping[str, str]) -> list[str]:
    """The hashes of numbers that wait to be forgotten."""
    return list(json.loads(rows.get(ASKED) or "[]"))


def ask(rows: Mapping[str, str], numbers: list[str]) -> dict[str, str]:
    """The rows as they stand without these numbers, and the word to a channel that runs to forget them too."""
    changed: dict[str, str] = {}
    for number in numbers:
        changed |= forgotten({**rows, **changed}, number)
    return {**changed, ASKED: json.dumps([*asked(rows), *map(digest, numbers)])}


def _is(key: str, prefix: str, number: str, gone: str) -> bool:
    return key.startswith(prefix) and digest(number) == gone


def _to(key: str, row: str) -> str:
    return str(json.loads(row)["to"]) if key.startswith(SENT) else ""
