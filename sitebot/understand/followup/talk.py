"""What every follow-up looks at: the last acts, the numbers they made, the numbers of the text."""

from __future__ import annotations

from sitebot.acts import Act
from sitebot.understand.context import Context
from sitebot.understand.marks import Text

#: Heats of a weld, and what an iron shows [F].
HEATS = range(250, 551)


def last(context: Context, *names: str) -> Act | None:
    """The latest act of these names; without names the latest of all."""
    return next((a for a in context.last if not names or a.name in names), None)


def numbers_of(act: Act | None) -> list[int]:
    """The splices an act made or judged, as it was settled."""
    if act is None:
        return []
    found = act.facts.get("made") or act.facts.get("judged") or act.facts.get("numbers") or []
    return [n for n in found if isinstance(n, int)] if isinstance(found, list) else []


def plain_numbers(text: Text) -> list[int]:
    """Plain whole numbers of the text."""
    out: list[int] = []
    for mark in text.of("n", "range"):
        values = mark.value if isinstance(mark.value, list) else [mark.value]
        out += [int(v) for v in values if isinstance(v, int | float) and float(v).is_integer()]
    return out


def asks(text: Text) -> bool:
    """A question mark stands in it."""
    return any(t.raw in ("?", "\u00bf") for t in text.tokens)
