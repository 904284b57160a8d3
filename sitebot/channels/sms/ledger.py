"""What was sent and how far it has come: a ring of the latest messages, kept as rows of the channel's state.

It makes sending again harmless (a ref is found with what was accepted of it) and moves receipts forward only.
No input or output: the rows that changed are handed back for the channel to commit.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sitebot.channels.sms.line import Receipt, Step

#: So many messages are remembered; older ones have been settled by then or never will be.
SIZE = 500
#: Networks give up delivering after about so long (common practice: one to three days).
UNSETTLED_FOR = timedelta(days=3)
PREFIX = "sent/"
_HEX = re.compile(r"[0-9a-fA-F]{1,32}")


@dataclass(frozen=True, slots=True)
class Sent:
    """One message: the other side's ids of its parts ("" until accepted) and how far each has come."""

    number: int
    ref: str
    to: str
    at: datetime
    text: str
    urgency: int
    ids: tuple[str, ...]
    steps: tuple[Step, ...]
    #: How often the line has been given it, and when it is to get it again; None: it is not.
    tries: int = 1
    again_at: datetime | None = None
    detail: str = ""

    @property
    def is_accepted(self) -> bool:
        return all(self.ids)

    @property
    def step(self) -> Step:
        """The whole message: failed where a part failed, delivered where all were."""
        return Step.FAILED if Step.FAILED in self.steps else min(self.steps)

    @property
    def line_ref(self) -> str:
        """What the line is given: another name each time, so that it does not take it for done."""
        return self.ref if self.tries == 1 else f"{self.ref}~{self.tries}"


Rows = dict[str, str]


class Ledger:
    """The ring. Writing returns the row to commit; memory follows with ``keep``, once it is committed."""

    def __init__(self, state: Mapping[str, str]) -> None:
        self._slots: dict[str, Sent] = {}
        self._places: dict[str, str] = {}
        #: Receipts that overtook the answer to their message, by the other side's id.
        self._early: dict[str, tuple[Step, str]] = {}
        for key, row in state.items():
            if key.startswith(PREFIX) and row:
                self._remember(key, _of_json(row))
        self._next = max((s.number for s in self._slots.values()), default=0) + 1

    def next_number(self) -> int:
        self._next += 1
        return self._next - 1

    def find(self, ref: str) -> Sent | None:
        """The message, by our ref or by one the line was given."""
        key = self._places.get(ref.split("~")[0])
        return self._slots[key] if key else None

    def keep(self, rows: Mapping[str, str]) -> None:
        """Take over rows that are committed."""
        for key, row in rows.items():
            if key.startswith(PREFIX) and row:
                self._remember(key, _of_json(row))
            elif old := self._slots.pop(key, None):
                self._places.pop(old.ref, None)

    def _remember(self, key: str, sent: Sent) -> None:
        old = self._slots.get(key)
        if old and old.ref != sent.ref:
            self._places.pop(old.ref, None)
        self._slots[key] = sent
        self._places[sent.ref] = key

    def accepted(self, sent: Sent, place: int, ident: str, step: Step) -> Sent:
        """The other side took a part; a receipt that came before this answer counts now."""
        ids, steps = list(sent.ids), list(sent.steps)
        known = next((i for i in self._early if _is_same(i, ident)), "")
        early, detail = self._early.pop(known, (step, sent.detail))
        ids[place], steps[place] = ident, max(step, early)
        return replace(sent, ids=tuple(ids), steps=tuple(steps), detail=detail)

    def note(self, receipt: Receipt) -> Sent | None:
        """The message as the receipt leaves it; None where it changes nothing."""
        found = self._of_ref(receipt) if receipt.ref else self._of_id(receipt)
        if found is None:
            return None
        sent, places = found
        steps = tuple(max(s, receipt.step) if i in places else s for i, s in enumerate(sent.steps))
        return None if steps == sent.steps else replace(sent, steps=steps, detail=receipt.detail)

    def _of_ref(self, receipt: Receipt) -> tuple[Sent, Sequence[int]] | None:
        sent = self.find(receipt.ref)
        # News of an attempt that was given up does not speak for the one under way, unless it arrived after all.
        if sent is None or (receipt.ref != sent.line_ref and receipt.step != Step.DELIVERED):
            return None
        return sent, range(len(sent.steps)) if receipt.place is None else [receipt.place]

    def _of_id(self, receipt: Receipt) -> tuple[Sent, Sequence[int]] | None:
        for sent in sorted(self._slots.values(), key=lambda s: -s.number):
            places = [i for i, ident in enumerate(sent.ids) if _is_same(ident, receipt.id)]
            if places:
                return sent, range(len(sent.steps)) if len(set(sent.ids)) == 1 else places
        if receipt.id:
            self._early[receipt.id] = (receipt.step, receipt.detail)
            while len(self._early) > SIZE:
                self._early.pop(next(iter(self._early)))
        return None

    def row(self, sent: Sent) -> Rows:
        return {f"{PREFIX}{sent.number % SIZE:03}": _to_json(sent)}

    def unsettled(self, now: datetime) -> list[Sent]:
        """Messages whose last word is still out."""
        return [
            s
            for s in self._slots.values()
            if s.step < Step.FAILED and s.again_at is None and now - s.at < UNSETTLED_FOR
        ]

    def again(self, now: datetime) -> list[Sent]:
        """Messages that the line is to get once more by now."""
        due = [s for s in self._slots.values() if s.again_at is not None and s.again_at <= now]
        return sorted(due, key=lambda s: s.number)

    def parts_since(self, since: datetime) -> int:
        """Parts sent since then, for a line's daily cap."""
        return sum(len(s.steps) * s.tries for s in self._slots.values() if s.at >= since)

    def all(self) -> Iterable[Sent]:
        return sorted(self._slots.values(), key=lambda s: s.number)


def _is_same(ident: str, other: str) -> bool:
    """Is that the same id? One side may write it in hex, the other in decimal; both may pad with zeros."""
    if not ident or not other:
        return False
    if ident.lower().lstrip("0") == other.lower().lstrip("0"):
        return True
    if not (_HEX.fullmatch(ident) and _HEX.fullmatch(other)):
        return False
    return any(d.isdecimal() and int(h, 16) == int(d) for h, d in ((ident, other), (other, ident)))


def _to_json(sent: Sent) -> str:
    return json.dumps(
        {
            "n": sent.number,
            "ref": sent.ref,
            "to": sent.to,
            "at": sent.at.isoformat(),
            "text": sent.text,
            "urgency": sent.urgency,
            "ids": sent.ids,
            "steps": [int(s) for s in sent.steps],
            "tries": sent.tries,
            "again_at": sent.again_at.isoformat() if sent.again_at else None,
            "detail": sent.detail,
        }
    )


def _of_json(row: str) -> Sent:
    r = json.loads(row)
    return Sent(
        number=r["n"],
        ref=r["ref"],
        to=r["to"],
        at=datetime.fromisoformat(r["at"]),
        text=r["text"],
        urgency=r["urgency"],
        ids=tuple(r["ids"]),
        steps=tuple(Step(s) for s in r["steps"]),
        tries=r["tries"],
        again_at=datetime.fromisoformat(r["again_at"]) if r["again_at"] else None,
        detail=r["detail"],
    )
