"""The channel's state: rows of text, changed only by committing them through the inbox's transaction; "" ends a row.

No decisions live here. Who reads, decides and commits holds ``lock`` meanwhile, so that no two build on the same row.
"""

from __future__ import annotations

import asyncio
import json
from collections import ChainMap
from collections.abc import Awaitable, Mapping, Sequence
from dataclasses import asdict, dataclass

from sitebot.channels.protocol import Keep
from sitebot.channels.sms.ledger import Ledger
from sitebot.channels.sms.pace import Urgency
from sitebot.errors import Unreachable
from sitebot.message import Incoming

#: Ids of messages that the channel answered by itself; the assistant's reply to them is left out.
ANSWERED = "answered"
#: Texts of the channel's own that wait to be sent.
OWN = "own"
#: Numbers off the roster that were greeted.
STRANGERS = "strangers"
_MOST_REMEMBERED = 200

#: The kept rows under those of one change that is not committed yet.
Change = ChainMap[str, str]


@dataclass(frozen=True, slots=True)
class OwnText:
    """A text that the channel itself has to say."""

    ref: str
    to: str
    text: str
    urgency: Urgency = Urgency.REPLY


class Kept:
    """What is committed, as rows and as the ledger they hold."""

    def __init__(self, state: Mapping[str, str]) -> None:
        self.rows = dict(state)
        self.ledger = Ledger(state)
        self.lock = asyncio.Lock()
        self._keep: Keep | None = None

    def through(self, keep: Keep) -> None:
        """Commit through this from now on."""
        self._keep = keep

    def change(self) -> Change:
        return ChainMap({}, self.rows)

    async def commit(self, change: Mapping[str, str], messages: Sequence[Incoming] = ()) -> None:
        """Commit messages and changed rows together; Unreachable before the channel listens."""
        if self._keep is None:
            raise Unreachable("the SMS channel does not listen yet")
        rows = {key: row for key, row in change.items() if self.rows.get(key) != row}
        if messages or rows:
            await self._through_to_the_end(self._keep(messages, rows), rows)
        self._remember(rows)

    async def _through_to_the_end(self, keeping: Awaitable[None], rows: Mapping[str, str]) -> None:
        """A commit that we are cancelled in may stand or not: wait for it, or memory and database part ways."""
        task = asyncio.ensure_future(keeping)
        try:
            await asyncio.shield(task)
        except asyncio.CancelledError:
            await asyncio.wait({task})
            if not task.cancelled() and task.exception() is None:
                self._remember(rows)
            raise

    def _remember(self, rows: Mapping[str, str]) -> None:
        self.rows |= rows
        for key in [key for key, row in rows.items() if not row]:
            del self.rows[key]
        self.ledger.keep(rows)


def own_texts(change: Mapping[str, str]) -> list[OwnText]:
    """What waits to be said by the channel itself."""
    return [OwnText(**{**o, "urgency": Urgency(o["urgency"])}) for o in json.loads(change.get(OWN) or "[]")]


def put_own_texts(change: Change, texts: Sequence[OwnText]) -> None:
    change[OWN] = own_texts_as(texts)


def own_texts_as(texts: Sequence[OwnText]) -> str:
    """As they are kept."""
    return json.dumps([asdict(o) for o in texts])


def remembered(change: Mapping[str, str], key: str) -> list[str]:
    """A short list of ids or numbers, oldest first."""
    return list(json.loads(change.get(key) or "[]"))


def remember(change: Change, key: str, value: str) -> None:
    """Put a value on such a list; the oldest falls off."""
    values = [v for v in remembered(change, key) if v != value]
    change[key] = json.dumps([*values, value][-_MOST_REMEMBERED:])
